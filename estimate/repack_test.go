package estimate

import "wraptally/estimate/kit"

// PackAgain packs the kit of a job again, also where it is kept.
func (p *Campaign) PackAgain(j *Job) *kit.Kit { return j.pack(p.means, nil) }
