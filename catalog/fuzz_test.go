package catalog

import (
	"bytes"
	"errors"
	"flag"
	"strings"
	"testing"

	"wraptally/estimate/trace"
)

// The fuzzer makes each new input as small as it can, for a minute unless told
// otherwise, and tries nothing else meanwhile: with inputs the size of a table it
// would do no more. Twenty tries are enough; -fuzzminimizetime overrules.
func init() {
	testing.Init()
	if err := flag.Set("test.fuzzminimizetime", "20x"); err != nil {
		panic(err)
	}
}

// Whatever a table holds, loading neither panics nor loses a fault: each has
// its place, code, message and advice, and a catalogue without faults can be
// looked up in.
func FuzzTable(f *testing.F) {
	for i, name := range sourceNames() {
		text, err := book.ReadFile("book/" + name + ".csv")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(i, text)
		f.Add(i, append([]byte("\ufeff"), bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n"))...))
		f.Add(i, text[:len(text)/2])
	}
	whole := csvOf(f, productRows(f, func(_, _ string) bool { return true }))
	f.Add(0, []byte(whole))
	f.Add(0, []byte(whole[:len(whole)/3]))
	f.Add(0, []byte("\"\n"))
	f.Add(3, []byte("a;b\n1;2\n"))
	f.Fuzz(func(t *testing.T, which int, text []byte) {
		all := sources()
		def := all[((which%len(all))+len(all))%len(all)]
		read := &Faults{}
		own := map[string]*grid{def.name: readCSV("fuzz.csv", bytes.NewReader(text), read)}
		c := build(fillFromProducts(own, nil, read), nil, read)
		if err := read.err(); err != nil {
			var faults *Faults
			if !errors.As(err, &faults) || faults.Total < len(faults.List) || len(faults.List) == 0 {
				t.Fatalf("%T %v", err, err)
			}
			for _, q := range faults.List {
				if q.Code == "" || q.Message == "" || q.Advice == "" || q.Place.File == "" || q.Severity != trace.Stop {
					t.Fatalf("fault %+v", q)
				}
			}
			if strings.Contains(err.Error(), "\x00") {
				t.Fatalf("the message carries a control character: %q", err.Error())
			}
			return
		}
		for od := 5.0; od < 10000; od *= 1.3 {
			c.BandFor(od)
			c.SheetFor(od)
			c.WrapsFor(od)
			c.WallLike(od)
		}
		c.PuttiesFor(20, "wet")(func(string, []*Putty) bool { return true })
		if c.Currency() == nil {
			t.Fatal("accepted without a currency of the bid")
		}
	})
}

// Whatever is given by name, the settings stay within their limits.
func FuzzSet(f *testing.F) {
	for _, s := range []string{"wrap.overlap=0.5", "crew.count=2", "campaign.start=2030-01-01", "=", "x", "money.currency=", "wrap.overlap=1e400", "prep.grade=\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, set string) {
		c, err := Load(Options{Sets: []string{set}})
		if err != nil {
			return
		}
		if s := c.Settings; s.Overlap < 0.5 || s.Overlap >= 1 || s.LengthStep < 1 || s.LayingSpeed <= 0 || s.Crews < 1 || s.Productive <= 0 || s.ThicknessLimit <= 0 {
			t.Fatalf("--set %q gave %+v", set, s)
		}
	})
}
