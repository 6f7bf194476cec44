// Package design holds the engineering rules of a composite wrap repair as
// pure functions of plain numbers: reach, wrap thickness, through-wall holes,
// temperature, service life, bends, layers, and the checks made before anything
// is counted. It knows nothing of surveys, catalogues or money.
//
// What it gives is an estimate, not a design: it sizes a purchase, and a
// qualified person designs the repair.
//
// Units are mm, mm², MPa (N/mm²), N and °C throughout; energies of fracture
// are J/m². The formulas hold in any consistent set of units, apart from the
// 0.001 that turns J/m² into N/mm.
//
// One symbol means one thing in the whole package:
//
//	D        outside diameter of the pipe, mm
//	t        wall of the pipe, mm
//	t_rem    remaining wall at the defect, mm
//	t_wrap   thickness of the wrap, mm
//	t_ply    thickness of one layer, mm
//	a, c     length of the defect along the pipe and round it, mm
//	d        diameter of a round hole, mm
//	P        design pressure of the repair, MPa
//	P_s      pressure that the remaining wall carries, MPa
//	s        allowable stress of the pipe, MPa
//	E_s      modulus of the pipe, MPa
//	E_c, E_a moduli of the wrap round and along the pipe, MPa
//	E_ac     √(E_a·E_c), MPa
//	G        shear modulus of the wrap, MPa
//	ν        Poisson's ratio of the wrap
//	F        axial force including end thrust, N
//	ε, ε_a   allowable strain of the wrap round and along the pipe
//	γ        energy release rate of the bond to the pipe, J/m²
//	f, f_T   service factor, temperature factor
//	T_m, T_d temperature limit of the wrap, design temperature, °C
//	R, θ     centre-line radius of a bend, mm, and its angle, degrees
//	o        overlap as a fraction of the width of the tape
//
// so that one list of origins by symbol (Working.From) serves all the steps of
// a repair.
//
// Where a rule follows a purchased standard and the text was not at hand, its
// comment and the source of its step say so: "verified: no".
package design
