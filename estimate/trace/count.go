package trace

import "strconv"

// Count is a number of things in words, "1 row" or "3 rows".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
