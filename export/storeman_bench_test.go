package export

import "testing"

// BenchmarkKitPages is the time to pack 200 kits again and lay their pages out,
// and to put the pages on paper.
func BenchmarkKitPages(b *testing.B) {
	p := campaignOf(b, storeSurvey(200, true, "L-1"))
	b.Run("lay out", func(b *testing.B) {
		for b.Loop() {
			newBook(p, Options{}, allOf(p))
		}
	})
	k := newBook(p, Options{}, allOf(p))
	b.Run("put", func(b *testing.B) {
		for b.Loop() {
			for range k.kitsSheet().Rows {
			}
		}
	})
}
