package catalog

import "testing"

func TestBuiltinLoads(t *testing.T) {
	c, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range c.Warnings {
		t.Error(w)
	}
}
