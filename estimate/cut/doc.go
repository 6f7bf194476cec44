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
// decreasing, best filling of one coil after another; shelves and free
// rectangles for sheets), then quick bounds (material; dual-feasible
// functions). Only where the two differ is the linear relaxation over cutting
// patterns solved by column generation (Gilmore and Gomory, Operations
// Research 9 (1961) 849 and 11 (1963) 863 [from memory]) and rounded to whole
// patterns by diving. Limits are counted in units of work, never in seconds,
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
package cut
