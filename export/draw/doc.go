// Package draw makes the pictures that go into workbooks: bars cut into pieces,
// sheets cut into rectangles, marks along a line, and scannable codes. It knows
// lengths and labels, not what they are of.
//
// All pictures are black on white with hatches, made for paper, and are the same
// bytes for the same input. Lengths of what is drawn are in any one unit, the
// same throughout a picture; sizes on paper are in millimetres.
//
// Labels are set in the Go fonts, which hold Latin, Greek and Cyrillic; other
// characters show as an empty box, so labels should be codes, with the words in
// the table beside the picture.
package draw
