package kit

import (
	"slices"

	"wraptally/catalog"
	"wraptally/estimate/crew"
	"wraptally/estimate/mix"
)

// taskMinutes is how long one unit of a task takes for this kit: slower by the
// access where it slows the task, and longer in the cold, shorter in the heat,
// where the minutes follow the temperature of the work by the law of pot life: at
// the coldest place of the repair, which sets last.
func (p *Packer) taskMinutes(k *Kit, t *catalog.Task) (minutes, access, warmth float64) {
	access, warmth = 1, 1
	if t.Access {
		if a, ok := p.accessOf(k.Repair); ok {
			access = a.Time
		}
	}
	if t.Follows == "temperature" {
		warmth = mix.Arrhenius(1, t.At, k.Repair.SurfaceTempLow, p.set.MixEnergy)
	}
	return t.Minutes * access * warmth, access, warmth
}

// Takes is how long a task takes for this kit, by its code in the tasks table.
func (k *Kit) Takes(task string) (minutes float64, ok bool) {
	for _, t := range k.Times {
		if t.Task.Task == task {
			return t.Minutes, true
		}
	}
	return 0, false
}

// A loop is what a task is done over again for: each seal, batch or roll.
type loop int

const (
	once loop = iota
	eachSeal
	eachBatch
	eachRoll
)

func loopOf(per string) loop {
	switch per {
	case "leak", "stick", "band":
		return eachSeal
	case "batch":
		return eachBatch
	case "roll":
		return eachRoll
	}
	return once
}

// times is how often a loop is gone through for a kit.
func (k *Kit) times(l loop) int {
	per := map[loop]string{eachSeal: "leak", eachBatch: "batch", eachRoll: "roll"}[l]
	n, _ := k.driver(per)
	return max(1, int(n))
}

// Work is the kit's tasks as activities, in the order of the tasks table. Tasks
// that stand together and count seals, batches or rolls are done seal by seal,
// batch by batch, roll by roll. The minutes of a crew are divided by the
// productive share of its time; waiting is not. Names are those of the tasks.
func (p *Packer) Work(k *Kit) []crew.Activity {
	var out []crew.Activity
	for i := 0; i < len(k.Times); {
		end, l := i+1, loopOf(k.Times[i].Task.Per)
		for end < len(k.Times) && l != once && loopOf(k.Times[end].Task.Per) == l {
			end++
		}
		rounds := 1
		if l != once {
			rounds = k.times(l)
		}
		for range rounds {
			for _, t := range k.Times[i:end] {
				out = append(out, p.activity(k, &t, float64(rounds)))
			}
		}
		i = end
	}
	return out
}

func (p *Packer) activity(k *Kit, t *Time, rounds float64) crew.Activity {
	a := crew.Activity{
		Name: t.Task.Name, Minutes: t.Minutes / rounds, Waits: t.Task.Who == "nobody", Splits: t.Task.Breaks,
		Tie: crew.Tie(max(0, slices.Index(ties, t.Task.Tie))), Within: t.Task.Within,
	}
	if !a.Waits {
		a.Minutes /= p.set.Productive
		a.Hands = 1
	}
	if t.Task.Per == "roll" {
		a.Hands = k.Tape.Hands
	}
	return a
}

// ties are the words of the tasks table in the order of the ties.
var ties = []string{crew.Untied: "free", crew.InShift: "shift", crew.InTime: "minutes"}
