package export

import "testing"

// BenchmarkKitPages is the time to lay out the pages of 200 kits, and to pack
// them, which is part of it.
func BenchmarkKitPages(b *testing.B) {
	p := campaignOf(b, storeSurvey(200, true, "L-1"))
	k := newBook(p, Options{}, allOf(p))
	b.Run("lay out", func(b *testing.B) {
		for b.Loop() {
			for range k.kitsSheet().Rows {
			}
		}
	})
	b.Run("pack", func(b *testing.B) {
		for b.Loop() {
			for i := range k.part {
				k.kit(i)
			}
		}
	})
}
