package export

import (
	"slices"

	"wraptally/estimate/used"
	"wraptally/export/table"
)

// The names of the sheets.
const (
	sheetSummary      = "Summary"
	sheetContents     = "Contents"
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
	sheetVary         = "Vary"
	sheetAlternatives = "Alternatives"
	sheetAssumptions  = "Assumptions"
	sheetSettings     = "Settings"
	sheetQueries      = "Queries"
	sheetDesigner     = "Designer"
)

// A tab is a sheet of the workbook.
type tab struct {
	name  string
	holds string // what the contents say of it; nothing leaves it out there
	who   string // prints it, and when
	is    bool   // in this workbook
	make  func() *table.Sheet
}

// onScreen are the sheets that the print of the whole workbook leaves out: they are
// worked in on the screen, or paper of other sheets holds what they say.
var onScreen = []string{sheetRepairs, sheetKitLines, sheetMixing, used.Sheet, sheetNeeds, sheetInputs, sheetSettings}

// tabs are the sheets of the workbook of a campaign in their order. A sheet that
// refers to the figures of others is made after them; the summary is made last.
func (d *desk) tabs() []tab {
	estimated := len(d.p.Jobs) > 0
	apart := len(d.apart) > 0
	here := estimated && !apart // the kits
	all := []tab{
		{sheetSummary, "", "", true, d.summarySheet},
		{sheetContents, "", "", true, d.contentsSheet},
		{sheetRepairs, "every repair with its place, layers, kit, time and share of the cost", "nobody: plan, kits and cost hold it; estimator, for a list of all", true, d.repairsSheet},
		{sheetKits, "two pages a kit: what is packed, then the work step by step", "storeman: each kit's pages when it is packed; they go into the box", here, d.kitsSheet},
		{sheetKits, "two pages a kit: what is packed, then the work step by step", "storeman: each kit's pages when it is packed; they go into the box", apart, d.indexSheet},
		{sheetKitLines, "packed quantities, which may be set by hand here", "nobody: the kits' pages hold it; quantities are changed here", here, d.kitLinesSheet},
		{sheetPacking, "which kit can be packed when, and who gets which lot", "storeman, before packing, and again when goods arrive", estimated && d.p.Store != nil, d.packingSheet},
		{sheetPick, "what is picked, shift by shift and in all", "storeman: the pages of the next shifts, and again when a quantity changes", here, d.pickSheet},
		{sheetPlan, "who works where when, and what becomes of each shift", "crew leaders, before the work", estimated, d.planSheet},
		{sheetCrews, "by crew and shift, and what travels of dangerous goods", "storeman: what is handed out a shift, and before a load leaves", here, d.crewsSheet},
		{sheetMixing, "batches and the minutes to use them", "nobody: the kits' pages hold it; crew leader who mixes for several kits", here, d.mixingSheet},
		{sheetCutting, "coils and sheets with drawings", "whoever cuts bands and sheets", estimated, d.cuttingSheet},
		{sheetLabels, "of kits, to be cut apart", "storeman, on label sheets", here, d.labelsSheet},
		{sheetSmallLabels, "of cut pieces, kept offcuts and opened packs, to be cut apart", "storeman, on label sheets", here, d.smallLabelsSheet},
		{used.Sheet, "to be filled in after each repair: used, returned, damaged, measured", "nobody: filled in here; for paper filter one kit first", here, d.usedSheet},
		{sheetNames, "every repair's name, for the next run; what has become of those of an earlier run and of the boxes packed for it", "storeman, where there was an earlier run; hidden where there was none", len(d.p.Names) > 0, d.namesSheet},
		{sheetOrder, "what to buy, where, by when and why", "procurement", estimated, d.orderSheet},
		{sheetNeeds, "from issued to bought, and the store", "nobody: to see how a quantity came about", estimated, d.needsSheet},
		{sheetCost, "from direct cost to bid, by stage, area, line and kind", "estimator", estimated, d.costSheet},
		{sheetInputs, "rates and percentages, to be changed here, and the prices taken", "nobody: it is worked in here; estimator, to keep the prices with the bid", estimated, d.inputsSheet},
		{sheetAlternatives, "the same survey with other settings, side by side", "estimator", estimated && len(d.opt.Alternatives) > 0, d.alternativesSheet},
		{sheetVary, "", "estimator", estimated && d.opt.Vary != nil, d.varySheet},
		{sheetAssumptions, "what is taken for granted", "estimator, with the bid; designer", true, d.assumptionsSheet},
		{sheetSettings, "rules in force, and the survey as it was read", "nobody; whoever checks, to keep the rules with the bid", true, d.settingsSheet},
		{sheetQueries, "open questions, to be answered", "estimator: it goes to the client", true, d.queriesSheet},
		{sheetDesigner, "hidden, so that it is not printed with the rest: a page a repair for its designer", "designer: shown first (unhide), then printed, a page a repair", true, d.designerSheets},
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
		if s := sheets[last]; slices.Contains(onScreen, s.Name) {
			s.PrintArea = table.One(table.At{Column: len(s.Columns) + 2, Row: 1}) // an empty cell: nothing
		}
	}
	if d.opt.Made != nil && len(d.p.Jobs) > 0 {
		sheets = append(sheets, d.runSheet())
	}
	w := d.bind("Repair campaign", sheets...)
	if d.inputs != nil {
		w.Names = append(w.Names, d.inputs.names...)
	}
	w.Names = append(w.Names, d.names...)
	return w
}
