package export

import (
	"slices"

	"wraptally/export/table"
)

// The names of the sheets.
const (
	sheetSummary      = "Summary"
	sheetRepairs      = "Repairs"
	sheetNames        = "Names"
	sheetKits         = "Kits"
	sheetKitLines     = "Kit lines"
	sheetPick         = "Pick list"
	sheetPlan         = "Plan"
	sheetCrews        = "Crews"
	sheetMixing       = "Mixing"
	sheetCutting      = "Cutting"
	sheetLabels       = "Labels"
	sheetOrder        = "Order"
	sheetNeeds        = "Needs"
	sheetCost         = "Cost"
	sheetInputs       = "Prices and rates"
	sheetVary         = "What if"
	sheetAlternatives = "Alternatives"
	sheetAssumptions  = "Assumptions"
	sheetSettings     = "Settings"
	sheetQueries      = "Queries"
	sheetWorking      = "Working"
	sheetDesigner     = "Designer"
)

// A tab is a sheet of the workbook.
type tab struct {
	name  string
	holds string // what the summary says of it; nothing leaves it out there
	is    bool   // in this workbook
	make  func() *table.Sheet
}

// tabs are the sheets of the workbook of a campaign in their order. A sheet that
// refers to the figures of others is made after them; the summary is made last.
func (d *desk) tabs() []tab {
	estimated := len(d.p.Jobs) > 0
	apart := len(d.apart) > 0
	here := estimated && !apart // the kits
	all := []tab{
		{sheetSummary, "", true, d.summarySheet},
		{sheetRepairs, "every repair with its place, layers, kit, time and share of the cost", true, d.repairsSheet},
		{sheetKits, "a page a kit for the storeman", here, d.kitsSheet},
		{sheetKits, "a page a kit for the storeman", apart, d.indexSheet},
		{sheetKitLines, "packed quantities, which may be set by hand here", here, d.kitLinesSheet},
		{sheetPacking, "which kit can be packed when, and who gets which lot", estimated && d.p.Store != nil, d.packingSheet},
		{sheetPick, "by item over all kits", here, d.pickSheet},
		{sheetPlan, "who works where when, and what becomes of each shift", estimated, d.planSheet},
		{sheetCrews, "by crew and shift", here, d.crewsSheet},
		{sheetMixing, "batches and the minutes to use them", here, d.mixingSheet},
		{sheetCutting, "coils and sheets with drawings", estimated, d.cuttingSheet},
		{sheetLabels, "to be cut apart", here, d.labelsSheet},
		{sheetNames, "every repair's name, for the next run; what has become of those of an earlier run and of the boxes packed for it", len(d.p.Names) > 0, d.namesSheet},
		{sheetOrder, "what to buy, where, by when and why", estimated, d.orderSheet},
		{sheetNeeds, "from issued to bought, and the store", estimated, d.needsSheet},
		{sheetCost, "from direct cost to bid, by stage, area, line and kind", estimated, d.costSheet},
		{sheetInputs, "rates and percentages, to be changed here, and the prices taken", estimated, d.inputsSheet},
		{sheetAlternatives, "the same survey with other settings, side by side", estimated && len(d.opt.Alternatives) > 0, d.alternativesSheet},
		{sheetVary, "", estimated && d.opt.Vary != nil, d.varySheet},
		{sheetAssumptions, "what is taken for granted", true, d.assumptionsSheet},
		{sheetSettings, "rules in force, and the survey as it was read", true, d.settingsSheet},
		{sheetQueries, "open questions, to be answered", true, d.queriesSheet},
		{sheetWorking, "how every quantity came about", estimated, d.workingSheet},
		{sheetDesigner, "hidden, so that it is not printed with the rest: a page a repair for its designer", true, d.designerSheets},
	}
	return slices.DeleteFunc(all, func(t tab) bool { return !t.is })
}

// workbook binds the sheets of the campaign.
func (d *desk) workbook() *table.Workbook {
	tabs := d.tabs()
	sheets := make([]*table.Sheet, len(tabs))
	for i := range tabs {
		last := (i + 1) % len(tabs) // the summary, which is the first, comes last
		sheets[last] = tabs[last].make()
	}
	w := d.bind("Repair campaign", sheets...)
	if d.inputs != nil {
		w.Names = append(w.Names, d.inputs.names...)
	}
	w.Names = append(w.Names, d.names...)
	return w
}
