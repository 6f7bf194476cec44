package estimate

import (
	"wraptally/catalog"
	"wraptally/estimate/kit"
)

// PackAgain packs the kit of a job again, also where it is kept.
func (p *Campaign) PackAgain(j *Job) *kit.Kit { return j.pack(p.means, nil) }

// AsPlanned are the rows that come back of a repair that used just what was planned.
func (p *Campaign) AsPlanned(j *Job) (rows []catalog.UsedRow) {
	for of, was := range p.plannedOf(p.Kit(j)) {
		rows = append(rows, catalog.UsedRow{Kit: j.Repair.ID, Record: of.record, Code: of.code, Used: "as planned", Value: was.quantity, Known: true})
	}
	return rows
}
