package cut

import (
	"fmt"
	"slices"
	"strings"
)

// InputError is a number in the input that makes no sense.
type InputError struct {
	Where string // "piece", "stock", "rect", "sheet" or "rule"
	Index int    // position in the slice given, -1 for the rule
	Label string // label or name of it, if any
	Why   string
}

func (e *InputError) Error() string {
	var b strings.Builder
	b.WriteString(e.Where)
	if e.Index >= 0 {
		fmt.Fprintf(&b, " %d", e.Index+1)
	}
	if e.Label != "" {
		fmt.Fprintf(&b, " (%s)", e.Label)
	}
	b.WriteString(": ")
	b.WriteString(e.Why)
	return b.String()
}

// TooLongError is a piece longer than any stock can yield.
type TooLongError struct {
	Index   int // of the piece
	Label   string
	Length  int // mm
	Longest int // mm, the longest usable length of any stock, after trim
	Stock   string
}

func (e *TooLongError) Error() string {
	who := fmt.Sprintf("piece %d", e.Index+1)
	if e.Label != "" {
		who += " (" + e.Label + ")"
	}
	if e.Longest <= 0 {
		return fmt.Sprintf("%s: %d mm is wanted but no stock has any usable length", who, e.Length)
	}
	from := ""
	if e.Stock != "" {
		from = " (" + e.Stock + ")"
	}
	return fmt.Sprintf("%s: %d mm is longer than the longest usable stock, %d mm%s", who, e.Length, e.Longest, from)
}

// NotEnoughError says that the stock given, being finite, did not yield all
// pieces.
type NotEnoughError struct {
	Stock   string   // "stock" or "sheets"
	Missing []string // sizes and numbers that found no place
	Proven  bool     // true: no plan exists; false: none was found
}

func (e *NotEnoughError) Error() string {
	list := e.Missing
	if n := len(list); n > 6 {
		list = append(slices.Clone(list[:5]), fmt.Sprintf("and %d more sizes", n-5))
	}
	how := "no plan was found that cuts everything; left over: "
	if e.Proven {
		how = "the " + e.Stock + " cannot yield everything; left over in the best plan found: "
	}
	return "not enough " + e.Stock + ": " + how + strings.Join(list, ", ")
}

// TooLargeError is a rectangle that fits no sheet.
type TooLargeError struct {
	Index  int // of the rectangle
	Label  string
	W, H   int // mm
	Rotate bool
	Sheets string // usable sizes, for the message
}

func (e *TooLargeError) Error() string {
	who := fmt.Sprintf("rectangle %d", e.Index+1)
	if e.Label != "" {
		who += " (" + e.Label + ")"
	}
	turn := "as it lies (turning is not allowed)"
	if e.Rotate {
		turn = "either way round"
	}
	return fmt.Sprintf("%s: %d × %d mm fits no sheet %s; usable: %s", who, e.W, e.H, turn, e.Sheets)
}
