// Package audit reckons the JSON of a run again from what is printed in it: it
// evaluates each printed formula with its printed inputs at full precision,
// puts solved values back into their equations, follows each reference to the
// step it names, sums each total, and replays cutting plans. It has its own
// reader of formulas and shares nothing with the packages that made the numbers.
//
// What a formula may hold: names with their subscripts, numbers, π, + − · /, the
// superscripts ² ³ ⁴, √ of a name or a bracket, |…|, brackets of all kinds, max,
// min, ceil, floor, exp, ln, and Σ before a quantity whose printed input is the
// sum already. An equation "t from P = …" tells that t was solved for; a
// comparison tells what "passed" means.
package audit
