package catalog

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// agree faults rows of a group that differ from the group's first in a column.
func (k *checker) agree(table string, group, same []string) {
	l := k.table(table)
	first := map[string]int{}
	for row := range l.len() {
		key := ""
		for _, name := range group {
			key += keyText(l.value(row, l.column(name))) + "\x00"
		}
		base, ok := first[key]
		if !ok {
			first[key] = row
			continue
		}
		for _, name := range same {
			col := l.column(name)
			if keyText(l.value(row, col)) != keyText(l.value(base, col)) {
				k.fault(table, row, name, "group-disagrees",
					fmt.Sprintf("%s differs from %s, where it is %s", name, lineOf(l, base), l.cell(base, col).text),
					"rows with the same "+group[0]+" must agree; name them apart if they are different things")
			}
		}
	}
}

func checkCoils(k *checker) {
	k.agree("bands", []string{"band"}, []string{"width_mm", "thickness_mm", "od_min_mm", "od_max_mm"})
}

func checkSheets(k *checker) {
	k.agree("sheets", []string{"sheet"}, []string{"thickness_mm", "od_min_mm", "od_max_mm"})
}

func checkPacks(k *checker) {
	k.agree("putties", []string{"putty"}, []string{"density_kg_l", "temp_min_c", "temp_max_c", "apply_kg_min", "open_life_h"})
}

func checkRolls(k *checker) {
	k.agree("wraps", []string{"wrap"}, []string{"ply_mm", "hoop_modulus_mpa", "axial_modulus_mpa", "shear_modulus_mpa", "poisson",
		"toughness_j_m2", "hoop_strain", "axial_strain", "temp_min_c", "temp_max_c", "service_temp_c", "soak_s", "work_s"})
	k.agree("wraps", []string{"wrap", "width_mm"}, []string{"od_min_mm", "od_max_mm"})
}

// span is a range of outside diameters claimed by a row.
type span struct {
	low, high float64
	name      string
	row       int
}

// covered faults gaps between low and high, and, where only one thing may
// serve a diameter, overlaps of spans with different names. what names the
// thing in the message.
func (k *checker) covered(table, what string, spans []span, low, high float64, once bool) {
	slices.SortStableFunc(spans, func(a, b span) int { return cmp.Or(cmp.Compare(a.low, b.low), cmp.Compare(a.high, b.high)) })
	gap := func(from, to float64, row int, column string) {
		message := fmt.Sprintf("no %s for outside diameters from %s to %s mm", what, num(from), num(to))
		const advice = "extend a range or add a row; ranges must meet"
		if row < 0 {
			k.faultTable(table, "diameter-gap", message, advice)
			return
		}
		k.fault(table, row, column, "diameter-gap", message, advice)
	}
	reached, last := low, -1
	for i, s := range spans {
		if once && last >= 0 && spans[last].name != s.name && s.low < spans[last].high {
			k.fault(table, s.row, "od_min_mm", "diameter-overlap",
				fmt.Sprintf("%s and %s both serve outside diameters from %s mm on", spans[last].name, s.name, num(s.low)), "let one range end where the next begins")
		}
		if s.low > reached && reached < high {
			if last >= 0 {
				gap(reached, min(s.low, high), spans[last].row, "od_max_mm")
			} else {
				gap(reached, min(s.low, high), s.row, "od_min_mm")
			}
		}
		if last < 0 || s.high > spans[last].high {
			last = i
		}
		reached = max(reached, s.high)
	}
	if reached < high {
		row := -1
		if last >= 0 {
			row = spans[last].row
		}
		gap(reached, high, row, "od_max_mm")
	}
}

// checkBandCover: from set.od_min to set.od_max exactly one band serves each diameter.
func checkBandCover(k *checker) {
	var spans []span
	for i := range k.c.Bands {
		b := &k.c.Bands[i]
		spans = append(spans, span{b.ODMin, b.ODMax, b.Band, i})
	}
	k.covered("bands", "band", spans, k.c.Settings.SetODMin, k.c.Settings.SetODMax, true)
}

// checkFastenerCover: each band has exactly one fastener over its whole range.
func checkFastenerCover(k *checker) {
	done := map[string]bool{}
	for i := range k.c.Bands {
		b := &k.c.Bands[i]
		if done[b.Band] {
			continue
		}
		done[b.Band] = true
		var spans []span
		for j := range k.c.Fasteners {
			if f := &k.c.Fasteners[j]; f.Band == b.Band {
				spans = append(spans, span{f.ODMin, f.ODMax, f.Item, j})
			}
		}
		if len(spans) == 0 {
			k.fault("bands", i, "band", "fastener-missing", "no fastener closes this band", "add one to the table fasteners")
			continue
		}
		k.covered("fasteners", "fastener for "+b.Band, spans, b.ODMin, b.ODMax, true)
	}
}

// checkStrips: the longest strip of a band, one fastener's reach with both
// ends, can be cut from its longest coil.
func checkStrips(k *checker) {
	thickest := 0.0
	for i := range k.c.Sheets {
		thickest = max(thickest, k.c.Sheets[i].Thickness)
	}
	s := &k.c.Settings
	for i := range k.c.Fasteners {
		f := &k.c.Fasteners[i]
		coil := 0.0
		for j := range k.c.Bands {
			if k.c.Bands[j].Band == f.Band {
				coil = max(coil, k.c.Bands[j].CoilLength)
			}
		}
		strip := min(f.Reach, math.Pi*f.ODMax) + 2*math.Pi*(s.SealPressed+thickest) + 2*f.Engagement + s.BandStep
		if coil > 0 && strip > coil-s.CutTrim {
			k.fault("fasteners", i, "reach_mm", "strip-too-long",
				fmt.Sprintf("a strip of %s mm does not come from the longest coil of %s, %s mm less trim", num(math.Ceil(strip)), f.Band, num(coil)), "add a longer coil or shorten the reach")
		}
	}
}

// checkSheetCover: from set.od_min to set.od_max exactly one sheet serves each diameter.
func checkSheetCover(k *checker) {
	var spans []span
	for i := range k.c.Sheets {
		s := &k.c.Sheets[i]
		spans = append(spans, span{s.ODMin, s.ODMax, s.Sheet, i})
	}
	k.covered("sheets", "sheet", spans, k.c.Settings.SetODMin, k.c.Settings.SetODMax, true)
}

// checkSealants: there is a sealant for each state of the surface; one that
// does not serve the usual temperature is noted.
func checkSealants(k *checker) {
	for _, surface := range surfaces {
		row := slices.IndexFunc(k.c.Sealants, func(s Sealant) bool { return s.Surface == surface })
		if row < 0 {
			k.faultTable("sealants", "surface-missing", "no sealant for a "+surface+" surface", "add one")
			continue
		}
		if s, _ := k.c.SealantFor(surface, k.c.Settings.WorkTemp); s == nil {
			k.note("sealants", row, "temp_min_c", "temperature-uncovered",
				fmt.Sprintf("no sealant for a %s surface at the usual temperature of %s °C", surface, num(k.c.Settings.WorkTemp)), "check work.temperature and the temperature ranges")
		}
	}
}

// checkWrapCover: there is a wrap for every pipe size of the table and every
// diameter of a sealing set.
func checkWrapCover(k *checker) {
	low, high := k.c.Settings.SetODMin, k.c.Settings.SetODMax
	for i := range k.c.Pipes {
		low, high = min(low, k.c.Pipes[i].OD), max(high, k.c.Pipes[i].OD)
	}
	var spans []span
	for i := range k.c.Wraps {
		w := &k.c.Wraps[i]
		spans = append(spans, span{w.ODMin, w.ODMax, w.Item, i})
	}
	k.covered("wraps", "wrap", spans, low, high, false)
}

// checkLaying notes rolls that all hands together cannot lay in their time at 30 °C.
func checkLaying(k *checker) {
	s := &k.c.Settings
	for i := range k.c.Wraps {
		w := &k.c.Wraps[i]
		laid := s.LayingSpeed * 1000 / 60 * w.Work * float64(s.MaxHands)
		if w.Length > laid {
			k.note("wraps", i, "length_mm", "roll-too-long",
				fmt.Sprintf("%d pairs of hands lay %s mm of %s in its %s s", s.MaxHands, num(math.Floor(laid)), w.Item, num(w.Work)), "take shorter rolls, or check wrap.laying_speed and wrap.max_hands")
		}
	}
}

// checkLives: each putty has measured lives, at two temperatures or more for
// each mass, that fall with temperature and with mass, and reach up to the
// mass of every pack that must be mixed whole.
func checkLives(k *checker) {
	type point struct {
		PuttyLife
		row int
	}
	for i := range k.c.Putties {
		p := &k.c.Putties[i]
		var points []point
		for j, l := range k.c.PuttyLives {
			if l.Putty == p.Putty {
				points = append(points, point{l, j})
			}
		}
		if len(points) == 0 {
			k.fault("putties", i, "putty", "life-missing", "no working life is stated for this putty", "add its points to the table putty_lives")
			continue
		}
		heaviest := slices.MaxFunc(points, func(a, b point) int { return cmp.Compare(a.Mass, b.Mass) })
		if !p.Splittable && p.Pack > heaviest.Mass {
			k.fault("putties", i, "pack_kg", "life-missing",
				fmt.Sprintf("the pack is mixed whole, but the heaviest mass with a working life is %s kg", num(heaviest.Mass)), "add points for its mass to putty_lives, or mark it splittable")
		}
		if slices.IndexFunc(k.c.Putties, func(q Putty) bool { return q.Putty == p.Putty }) != i {
			continue // the points were looked at with the first pack
		}
		slices.SortStableFunc(points, func(a, b point) int { return cmp.Or(cmp.Compare(a.Mass, b.Mass), cmp.Compare(a.Temp, b.Temp)) })
		for n, pt := range points {
			alone := (n == 0 || points[n-1].Mass != pt.Mass) && (n+1 == len(points) || points[n+1].Mass != pt.Mass)
			if alone {
				k.fault("putty_lives", pt.row, "temp_c", "life-single", fmt.Sprintf("the mass of %s kg has a working life at one temperature only", num(pt.Mass)), "add a second temperature")
			}
			if n > 0 && points[n-1].Mass == pt.Mass && pt.Minutes >= points[n-1].Minutes {
				k.fault("putty_lives", pt.row, "minutes", "life-rises",
					fmt.Sprintf("the working life does not fall from %s to %s °C", num(points[n-1].Temp), num(pt.Temp)), "a warmer putty sets faster; check the two rows")
			}
			for _, lighter := range points[:n] {
				if lighter.Mass < pt.Mass && lighter.Temp == pt.Temp && pt.Minutes > lighter.Minutes {
					k.fault("putty_lives", pt.row, "minutes", "life-rises",
						fmt.Sprintf("the working life rises from %s to %s kg", num(lighter.Mass), num(pt.Mass)), "a larger batch sets faster; check the two rows")
					break
				}
			}
		}
		low := slices.MinFunc(points, func(a, b point) int { return cmp.Compare(a.Temp, b.Temp) }).Temp - k.c.Settings.MixPastEnds
		high := slices.MaxFunc(points, func(a, b point) int { return cmp.Compare(a.Temp, b.Temp) }).Temp + k.c.Settings.MixPastEnds
		if p.TempMin < low || p.TempMax > high {
			k.note("putties", i, "temp_max_c", "life-short-of-range",
				fmt.Sprintf("the working life of %s is known from %s to %s °C only", p.Putty, num(low), num(high)), "add points, or narrow its temperatures")
		}
	}
	if !slices.ContainsFunc(k.c.Putties, func(p Putty) bool {
		return p.TempMin <= k.c.Settings.WorkTemp && k.c.Settings.WorkTemp <= p.TempMax
	}) {
		k.note("putties", 0, "temp_min_c", "temperature-uncovered", fmt.Sprintf("no putty for the usual temperature of %s °C", num(k.c.Settings.WorkTemp)), "check work.temperature and the temperature ranges")
	}
}
