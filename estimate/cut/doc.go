// Package cut decides how lengths are cut from coils and rectangles from
// sheets, and says how far the plan can be from the best possible.
//
// It knows integer lengths in millimetres, not pipes. [Linear] cuts lengths
// (the one-dimensional cutting stock problem), [Sheets] cuts rectangles by
// guillotine cuts (edge to edge, the only cuts a shear makes). Each returns a
// plan, a lower bound that no plan can beat, and a certificate of that bound.
// [CheckLinear] and [CheckSheets] replay a plan and re-verify its certificate
// without any of the solver's code.
//
// # Method
//
// Equal sizes are grouped, so that the work depends on the number of different
// sizes and hardly on the number of pieces. Quick plans come first (first-fit
// decreasing, best filling of one coil after another; free rectangles and strips
// for sheets), and quick bounds (material; for sheets also pieces so big that no
// two share one). Only where the two differ is the linear relaxation over cutting
// patterns solved by column generation (Gilmore and Gomory, Operations
// Research 9 (1961) 849 and 11 (1963) 863 [from memory]) and rounded to whole
// patterns by diving; between dives a few coils at a time are taken apart and cut
// anew. One search serves coils and sheets; what differs is how one of them is
// filled, priced and bounded. Limits are counted in units of work, never in seconds,
// and the only random numbers come from a fixed seed: the same input gives the
// same plan on every machine.
//
// # The certificate
//
// A floating-point value is never rounded up to a bound. The prices that the
// relaxation puts on the lengths are scaled to integers Y; K is the most that
// any one coil can hold of Y, an integer knapsack anybody can solve again. All
// demand together is worth T = Σ demand·Y, so at least ceil(T/K) coils are
// needed. With several stocks the bound is the least cost of coils whose
// worths K add up to T. This holds for any Y, however it was found.
//
// # Why the linear programme is solved here
//
// gonum's lp.Simplex was weighed and not used: it takes the whole matrix,
// dense, in standard form, so that each added column means solving anew from
// nothing; it returns no dual values, which are what column generation and the
// certificate live on; it knows no bounds on variables; and its documentation
// warns of numerical failure on near-singular bases, which the highly
// degenerate bases of cutting problems are. The master problem here has as
// many rows as there are different lengths, so that a revised simplex with an
// explicit inverse is short.
//
// # Measured
//
//	go test -run '^$' -bench 'Linear|Sheets' -benchtime 1x ./estimate/cut
//
// Coils of 30 m, kerf 2, trim 50, keep 1,500; each cell is millions of units of
// work (roughly milliseconds) / coils / gap to the proven bound in coils, by the
// number of different lengths:
//
//	mix               pieces  6               24             72              all different
//	bands             100     2.4 / 4 / 0     3.2 / 6 / 0    118 / 5 / 0     118 / 5 / 0
//	bands             1,000   3.3 / 51 / 0    9.1 / 40 / 0   88 / 54 / 0     12 / 45 / 0
//	bands             10,000  1.6 / 308 / 0   10 / 449 / 0   122 / 461 / 0   42 / 438 / 0
//	strips of 2–15 m  100     0.5 / 49 / 0    3.3 / 31 / 0   137 / 35 / 0    119 / 29 / 0
//	strips of 2–15 m  1,000   0.7 / 376 / 0   4.7 / 267 / 0  121 / 245 / 0   15 / 283 / 0
//	strips of 2–15 m  10,000  0.7 / 2644 / 0  51 / 2213 / 0  280 / 3048 / 0  0.9 / 2870 / 15
//
// Sheets of 1000 × 2000, trim 5; work / sheets / gap in sheets, by the number of
// different sizes:
//
//	kerf, turning  pieces  6              12              20              72              all different
//	0, no          100     5.2 / 4 / 0    49 / 6 / 0      700 / 5 / 1     68 / 7 / 1      0.0 / 5 / 0
//	0, no          1,000   10 / 43 / 0    46 / 69 / 0     442 / 40 / 0    528 / 53 / 2    183 / 47 / 1
//	0, no          2,000   16 / 63 / 0    78 / 116 / 0    233 / 117 / 0   700 / 96 / 4    702 / 99 / 3
//	0, no          10,000  7.5 / 404 / 0  58 / 570 / 0    344 / 568 / 0   702 / 428 / 13  700 / 474 / 13
//	3, yes         100     0.0 / 4 / 0    0.0 / 6 / 0     702 / 5 / 1     0.0 / 7 / 0     271 / 5 / 0
//	3, yes         1,000   573 / 44 / 1   701 / 67 / 1    701 / 41 / 1    740 / 53 / 2    188 / 47 / 1
//	3, yes         2,000   464 / 64 / 2   701 / 117 / 2   702 / 115 / 2   707 / 98 / 5    683 / 99 / 2
//	3, yes         10,000  154 / 401 / 0  701 / 555 / 10  702 / 572 / 11  718 / 444 / 23  700 / 478 / 10
//
// Bands and sheets of made-up campaigns of 15 to 10,000 repairs, two coil lengths
// and two sheet sizes by cost: all 36 band lists proven least, 20 of 25 sheet
// lists, the others within 0.9 % of their bound together.
//
// What a part earns, switched off in the whole program, on 12 made-up campaigns of 15
// to 1,000 repairs (32 lists, 29 proven; orders of 640,232 EUR together): column
// generation for cost 32 EUR and two proofs; that for scrap no money, but 4.7 m of
// band; polishing and mixes of coils nothing alone, 32 EUR and two proofs with that
// for scrap. They stay for pieces that are long against the coil: strips of 2–15 m take
// up to 4.6 % more coils without.
// In package order the exact search changes no money there; without it the choices of
// rolls of the four campaigns of 15 repairs are no longer proven.
package cut
