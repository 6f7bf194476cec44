package catalog

// The levels at which an item is rounded up to whole units, the narrowest first.
const (
	LevelKit       = "kit"        // with each kit
	LevelCrewShift = "crew-shift" // for each shift of a crew
	LevelCrew      = "crew"       // for each crew, for all its shifts
	LevelCampaign  = "campaign"   // once
)

// LevelName is a level in words.
func LevelName(level string) string {
	return map[string]string{LevelKit: "each kit", LevelCrewShift: "a crew's shift", LevelCrew: "each crew", LevelCampaign: "the campaign"}[level]
}

// settleLevels gives each item that names no level the widest that makes sense:
// what is mixed, laid or drawn tight at a repair goes with its kit, what comes
// back goes to a crew, and the rest is rounded once for the campaign.
func (c *Catalog) settleLevels() {
	for i := range c.Items {
		it := &c.Items[i]
		if it.Issue != "" {
			continue
		}
		switch {
		case it.Kind == "fastener" || it.Kind == "sealant" || it.Kind == "putty" || it.Kind == "wrap":
			it.Issue = LevelKit
		case it.Returns:
			it.Issue = LevelCrew
		default:
			it.Issue = LevelCampaign
		}
	}
}

// CostBases are what a cost may be charged by, as the table costs names it.
func CostBases() []string { return wordsOf("costs", "per") }
