package estimate

import (
	"iter"
	"slices"

	"wraptally/estimate/bid"
	"wraptally/estimate/crew"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// Job is a repair that is done: what its kit comes to, and what the stops after
// packing say of it.
type Job struct {
	Repair  *scope.Repair
	At      int       // its place among all repairs
	Minutes float64   // of the crew
	Mass    float64   // kg of the kit
	Code    string    // of what is packed and what its card says, see kit.Packer.Contents
	Visit             // once it is planned
	Share   bid.Share // once it is charged

	kit    *kit.Kit        // of the first jobs, see mostKept
	rolls  *kit.RollChoice // where the campaign chose other rolls than the repair alone
	lines  []usage
	work   []crew.Activity
	pots   []pot       // what is weighed out; nil where packs are not shared
	pieces []kit.Piece // to be cut
}

// usage is a quantity of an item that one repair is the reason for.
type usage struct {
	item int32 // position in the catalogue
	qty  float64
	net  float64 // before it is rounded up with the kit
}

// Activity is the name of the n-th activity of the job's work.
func (j *Job) Activity(n int) string { return j.work[n].Name }

// Lines yields the lines of the job's kit, in their order: the place of the item
// in the catalogue and its quantity in units of issue. It packs nothing.
func (j *Job) Lines() iter.Seq2[int, float64] {
	return func(yield func(int, float64) bool) {
		for _, u := range j.lines {
			if !yield(int(u.item), u.qty) {
				return
			}
		}
	}
}

// mostKept is how many kits are kept until the outputs look at them, so that each
// is packed once; a kit takes about 3 kB. Those of a larger campaign's further
// jobs are packed again when they are looked at, and memory stays flat.
const mostKept = 3000

// pack packs the kit of every repair once and keeps its sums, gathering the
// mixes of rolls open to each. A repair whose kit raises a Stop is set aside.
func pack(planned []*scope.Repair, m *means, tell func(string, int, int)) (repairs []*scope.Repair, jobs []Job, mixes *rollGroups) {
	repairs, mixes = slices.Clone(planned), gatherRolls(m)
	for i, r := range planned {
		if r.Status != scope.Estimated {
			continue
		}
		if i%1000 == 0 {
			tell("kits", i, len(planned))
		}
		k, rolls := m.packLike(r)
		r = asking(r, k)
		if repairs[i] = r; r.Status != scope.Estimated {
			continue
		}
		mixes.add(len(jobs), r, k.Net, rolls)
		job := jobOf(r, i, k, m)
		job.rolls = rolls
		if len(jobs) >= mostKept {
			job.kit = nil
		}
		jobs = append(jobs, job)
	}
	return repairs, jobs, mixes
}

// asking is the repair with what its kit asks, which raises no Stop where it is
// still estimated.
func asking(r *scope.Repair, k *kit.Kit) *scope.Repair {
	if len(k.Queries) == 0 {
		return r
	}
	out := *r
	out.Queries = slices.Concat(r.Queries, k.Queries)
	k.Repair = &out
	if i := slices.IndexFunc(k.Queries, func(q trace.Query) bool { return q.Severity == trace.Stop }); i >= 0 {
		out.Status, out.Reason = scope.Queried, k.Queries[i].Message
	}
	return &out
}

// jobOf is the job of a repair, as its kit has it.
func jobOf(r *scope.Repair, at int, k *kit.Kit, m *means) Job {
	j := Job{Repair: r, At: at, Minutes: k.Minutes, Mass: k.Mass, kit: k, lines: make([]usage, len(k.Lines)), work: m.Work(k), pots: m.weighedOut(k), pieces: k.Pieces}
	if !m.sums {
		j.Code = m.Contents(k)
	}
	for i, l := range k.Lines {
		j.lines[i] = usage{int32(m.Position(l.Item.Code)), l.Qty, l.Net}
	}
	return j
}

// pack packs the kit of a job again, recording how it comes about.
func (j *Job) pack(m *means, log *trace.Log) *kit.Kit {
	if j.rolls != nil {
		return m.PackWith(j.Repair, *j.rolls, log)
	}
	return m.Pack(j.Repair, log)
}
