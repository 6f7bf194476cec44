// Package order turns what a campaign needs into what is bought: whole packs at
// the least cost. It knows quantities, packs, prices, stock and dates; it does
// not know what the goods are.
//
// Three questions, each answered exactly:
//
//   - Coverer: which mixes of whole rolls give a length of tape at the least
//     cost, the near-best ones too;
//   - Best: which packs of which supplier, at which price break, after stock
//     and growth, and why (Check replays the answer);
//   - Rechoose: which of each repair's near-best mixes makes the order of the
//     whole campaign cheapest (CheckChoice replays the answer).
//
// Money and ordered quantities are decimals and are never rounded here: all
// sums are taken over integers on a common grid, so equal costs are equal and
// not nearly so. Everything is deterministic; limits are counted in cells and
// nodes, never in seconds.
package order
