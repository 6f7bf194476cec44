package audit

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

func TestTry(t *testing.T) {
	for _, fn := range []string{"/tmp/aud/s300.json", "/tmp/aud/o.json"} {
		f, _ := os.Open(fn)
		r, err := JSON(f)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println(r.Evaluated, r.PutBack, r.Compared, r.Replayed, r.Followed, r.Summed, len(r.Faults))
		seen := map[string]int{}
		for i, f := range r.Faults {
			_ = i
			k := f.Where[strings.LastIndex(f.Where, "/")+1:]
			if seen[k]++; seen[k] < 3 {
				fmt.Println(f)
			}
		}
	}
}
