package audit

import (
	"fmt"
	"os"
	"testing"
)

func TestFiles(t *testing.T) {
	for _, fn := range []string{"/tmp/aud/s300.json", "/tmp/aud/o.json"} {
		f, _ := os.Open(fn)
		r, err := JSON(f)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println(r.Evaluated, r.PutBack, r.Compared, r.Replayed, r.Followed, r.Summed, len(r.Faults))
		for i, f := range r.Faults {
			if i < 30 {
				fmt.Println(f)
			}
		}
	}
}
