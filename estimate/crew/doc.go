// Package crew plans when, and by which crew, each repair is done: attended
// work and waiting apart, within shifts and working days.
//
// A repair is a row of activities. Those that bind the crew are laid one after
// the other; while sealant, putty or wrap sets, nobody is bound and the crew
// works on a repair nearby. What must not be interrupted (a soaked roll, a
// mixed batch, a seal before it is tack-free) is one block and lies in one
// shift whole.
//
// The rule is serial list scheduling with insertion: repairs in the order of
// their need dates, then of their places, each put at the earliest times that
// keep every constraint. The plan of k crews is never later than that of fewer,
// because the fewer are taken where the list rule would finish later (a list
// may: Graham, "Bounds on multiprocessing timing anomalies", SIAM Journal on
// Applied Mathematics 17, 1969). Beside the plan stands a lower bound on its
// working days; see Bound.
//
// The package knows minutes, places and people, not pipes.
package crew
