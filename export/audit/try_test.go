package audit

import (
	"encoding/json"
	"os"
	"testing"
	"fmt"
)

func TestTry(t *testing.T) {
	for _, fn := range []string{"/tmp/aud/s300.json", "/tmp/aud/o.json"} {
		b, _ := os.ReadFile(fn)
		var j struct{ Repairs []struct{ Derivation []step }; Derivation []step }
		if err := json.Unmarshal(b, &j); err != nil { t.Fatal(err) }
		n := map[kind]int{}; seen := map[string]int{}
		all := j.Derivation
		for _, r := range j.Repairs { all = append(all, r.Derivation...) }
		for _, s := range all {
			k, says := s.evaluate()
			n[k]++
			if says != "" { seen[s.Rule]++; if seen[s.Rule] <= 2 { fmt.Println(k, s.ID, says, s.Rounding) } }
		}
		fmt.Println(n, seen)
	}
}
