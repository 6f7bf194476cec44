package order

import (
	"errors"
	"fmt"
)

// Kinds of failure, to be told apart with errors.Is. The message says which
// value was at fault.
var (
	// ErrInput: a value that cannot be meant (a negative price, no pack size).
	ErrInput = errors.New("unusable input")
	// ErrUncoverable: all that is on offer together does not cover the need.
	ErrUncoverable = errors.New("need cannot be covered")
	// ErrTooLarge: the exact answer would take more work than allowed.
	ErrTooLarge = errors.New("quantity too large for an exact answer")
	// ErrTooFine: the decimals of quantities or prices are finer, or their
	// sums larger, than exact 64-bit arithmetic holds.
	ErrTooFine = errors.New("decimals too fine for exact arithmetic")
)

func inputError(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrInput, fmt.Sprintf(format, args...))
}
