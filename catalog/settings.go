package catalog

// Settings are the rules in force as numbers and words ready for use. A setting
// is a row of settings.csv, which says its value, unit, accepted range, basis
// and meaning, and a field here, whose tags say the rest:
//
//	set    its name
//	whole  the unit of which it is a whole number
//	least  the setting that it must not be below
//	class  the column of the table classes that it takes where its row is left
//	       open: that of the class of the estimate
type Settings struct {
	// Reach and length of a repair.
	ReachEdition string  `set:"reach.edition"` // "pcc2" or "iso"
	ReachMinimum float64 `set:"reach.minimum"` // mm
	ReachPCC2    float64 `set:"reach.pcc2_factor"`
	ReachISO     float64 `set:"reach.iso_factor"`
	RunOut       float64 `set:"reach.run_out"` // mm
	TaperRatio   float64 `set:"taper.ratio"`
	LengthStep   float64 `set:"repair.length_step"` // mm

	// Wrap.
	Overlap        float64 `set:"wrap.overlap"`
	MinLayers      int     `set:"wrap.min_layers"`
	EndTurns       float64 `set:"wrap.end_turns"`       // full turns at each end of each pass
	Splice         float64 `set:"wrap.splice"`          // mm
	ThicknessLimit float64 `set:"wrap.thickness_limit"` // D divided by this
	LayingSpeed    float64 `set:"wrap.laying_speed"`    // m/min for one pair of hands
	MaxHands       int     `set:"wrap.max_hands"`
	RollHour       float64 `set:"wrap.crew_hour"` // of a whole crew, where mixes of rolls are compared

	// Sealing set.
	SealAreaFactor float64 `set:"sealant.area_factor"`
	SealMargin     float64 `set:"sealant.margin"`                         // mm
	SealHeight     float64 `set:"sealant.height" least:"sealant.pressed"` // mm
	SealPressed    float64 `set:"sealant.pressed"`                        // mm, height left under the band
	PlaceTime      float64 `set:"sealant.place_time"`                     // min
	DrawTime       float64 `set:"sealant.draw_time"`                      // min a fastener
	SheetEdge      float64 `set:"sheet.edge"`                             // mm
	SheetStep      float64 `set:"sheet.step" whole:"mm"`                  // mm
	BandMin        int     `set:"band.min_count"`
	BandMax        int     `set:"band.max_count" least:"band.min_count"`
	BandGap        float64 `set:"band.gap"`                      // mm
	BandStep       float64 `set:"band.step" whole:"mm"`          // mm
	SetODMin       float64 `set:"set.od_min"`                    // mm
	SetODMax       float64 `set:"set.od_max" least:"set.od_min"` // mm
	Spares         int     `set:"set.spares"`                    // a crew
	PatchMaxArc    float64 `set:"set.max_arc"`                   // largest share of the circumference one patch may cover

	// Putty and preparation.
	PuttyHeight     float64 `set:"putty.height"`                           // mm, h1
	PuttyHeightLeak float64 `set:"putty.height_leak" least:"putty.height"` // mm, h2
	PuttyFootprint  float64 `set:"putty.footprint"`                        // mm a side
	PrepMargin      float64 `set:"prep.margin"`                            // mm a side
	PrepGrade       string  `set:"prep.grade"`
	PrepProfile     float64 `set:"prep.profile"`      // µm
	HandProfile     float64 `set:"prep.hand_profile"` // µm, from which hand tools do not give it
	Removal         string  `set:"kit.removal"`       // "yes" or "no"
	CarryLimit      float64 `set:"kit.carry_limit"`   // kg

	// Mixing.
	MixTime     float64 `set:"mix.time"`              // min
	MixReserve  float64 `set:"mix.reserve"`           // min
	MixLeast    float64 `set:"mix.least_usable"`      // min, that a batch must leave
	AirDiffer   float64 `set:"mix.air_differs"`       // °C, between air and pipe
	MixEnergy   float64 `set:"mix.activation_energy"` // kJ/mol
	MixPastEnds float64 `set:"mix.past_ends"`         // °C
	ScaleStep   float64 `set:"mix.scale_reading"`     // g
	ScaleLeast  float64 `set:"mix.scale_least"`       // g
	MixPooling  string  `set:"mix.pooling"`           // "kit", "crew-shift"
	WorkTemp    float64 `set:"work.temperature"`      // °C, where the survey gives none
	WorkSurface string  `set:"work.surface"`          // where the survey gives none

	// Crew and dates.
	Crews        int     `set:"crew.count"`
	ShiftHours   float64 `set:"crew.shift_hours"`
	Productive   float64 `set:"crew.productive"`
	ShiftsPerDay int     `set:"crew.shifts_per_day"`
	Weekend      string  `set:"crew.weekend"`
	WalkSpeed    float64 `set:"crew.walk_speed"`    // m/min
	BetweenLines float64 `set:"crew.between_lines"` // min
	BetweenAreas float64 `set:"crew.between_areas"` // min
	Near         float64 `set:"crew.near"`          // min
	WorkOn       string  `set:"crew.overlap"`       // work elsewhere while a repair sets
	Piece        float64 `set:"crew.piece"`         // min
	LabourPaid   string  `set:"labour.paid"`
	Start        string  `set:"campaign.start"`      // yyyy-mm-dd or empty
	Growth       float64 `set:"order.growth"`        // %
	ExpiryMargin int     `set:"order.expiry_margin"` // days
	SplitOrder   string  `set:"order.split_suppliers"`
	WorkingDays  string  `set:"order.working_days"`
	Rechoose     string  `set:"order.rechoose"`          // choose rolls again over the campaign
	StockPrice   string  `set:"stock.price"`             // "replacement", "cost", "free"
	ShelfLeft    float64 `set:"order.shelf_left"`        // %, where an offer guarantees none
	NoDelivery   float64 `set:"order.delivery_unknown"`  // a delivery, where it is not known
	NoMinimum    float64 `set:"order.minimum_unknown"`   // the least value of an order, where it is not known
	NoHazardous  float64 `set:"order.hazardous_unknown"` // a hazardous delivery, where it is not known
	NoLead       int     `set:"quote.lead_unknown"`      // days, where a quote states none
	RateDays     int     `set:"quote.rate_days"`         // most days that an exchange rate may be old
	StoreCold    float64 `set:"store.temp_low"`          // °C
	StoreHot     float64 `set:"store.temp_high" least:"store.temp_low"`
	StoreOutside int     `set:"store.outside_days"` // days that goods may lie that the store is too cold or hot for

	// Cutting.
	CutKerf     float64 `set:"cut.kerf" whole:"mm"`      // mm
	CutTrim     float64 `set:"cut.trim" whole:"mm"`      // mm a coil
	CutOrder    string  `set:"cut.order"`                // "shift" or "coil"
	CutKeep     float64 `set:"cut.keep_over" whole:"mm"` // mm
	SheetKerf   float64 `set:"sheet.kerf" whole:"mm"`
	SheetTrim   float64 `set:"sheet.trim" whole:"mm"` // mm an edge
	SheetKeep   float64 `set:"sheet.keep_over" whole:"mm"`
	SheetTurn   string  `set:"sheet.rotate"`
	CutBudget   int     `set:"cut.work_units"`
	KitsPerBook int     `set:"output.kits_per_book"`
	StepsInBook int     `set:"output.working_repairs"`  // repairs whose working is written into the workbook
	DesignPages int     `set:"output.designer_repairs"` // repairs with a designer's page in the workbook

	// Design basis.
	DesignBasis   string  `set:"design.basis"`               // "auto", "sound", "yield", "ignored", "none"
	DesignEdition string  `set:"design.edition"`             // label of the standard and edition
	PipeStress    float64 `set:"design.pipe_stress"`         // MPa, allowable
	MinWall       float64 `set:"design.min_wall"`            // mm, a thinner wall is designed as gone
	HoleBasis     string  `set:"hole.basis"`                 // "interacting", "unbonded"
	HoleNear      float64 `set:"hole.near"`                  // mm
	HoleFar       float64 `set:"hole.far" least:"hole.near"` // mm
	Life          float64 `set:"design.life"`                // years where the survey gives none
	TempQuad      float64 `set:"design.temp_quadratic"`
	TempLinear    float64 `set:"design.temp_linear"`
	TempConst     float64 `set:"design.temp_constant"`
	DewMargin     float64 `set:"screen.dew_margin"` // °C
	MagnusA       float64 `set:"screen.magnus_a"`
	MagnusB       float64 `set:"screen.magnus_b"`        // °C
	PatchCurve    float64 `set:"screen.patch_curvature"` // smallest D over sheet thickness
	GateFactor    float64 `set:"gate.pressure_factor"`   // times the live pressure
	GateSeat      float64 `set:"gate.seat_wall"`         // mm

	// What is taken where a survey is silent: the ends of a range each, and which
	// of them is ordered.
	BlankEnd       string  `set:"blank.end"`                                            // "worst", "best"
	WallLow        float64 `set:"blank.wall_low"`                                       // times the standard wall
	WallHigh       float64 `set:"blank.wall_high"`                                      // times the standard wall
	RemainingLow   float64 `set:"blank.remaining_low"`                                  // % of the wall
	RemainingHigh  float64 `set:"blank.remaining_high" least:"blank.remaining_low"`     // % of the wall
	PressureLow    float64 `set:"blank.pressure_low"`                                   // MPa
	PressureHigh   float64 `set:"blank.pressure_high" least:"blank.pressure_low"`       // MPa
	StressHigh     float64 `set:"blank.stress_high"`                                    // MPa; the low end is design.pipe_stress
	DesignTempLow  float64 `set:"blank.design_temp_low"`                                // °C
	DesignTempHigh float64 `set:"blank.design_temp_high" least:"blank.design_temp_low"` // °C
	WorkTempLow    float64 `set:"blank.surface_temp_low"`                               // °C
	WorkTempHigh   float64 `set:"blank.surface_temp_high" least:"blank.surface_temp_low"`
	AirAbove       float64 `set:"blank.air_above_surface"`   // °C
	RateHigh       float64 `set:"blank.corrosion_rate_high"` // mm a year, from 0
	BendLow        float64 `set:"blank.bend_radius_low"`     // times the outside diameter
	BendHigh       float64 `set:"blank.bend_radius_high" least:"blank.bend_radius_low"`

	// Limits of validity and of sense; beyond them somebody is asked.
	CeilingShare float64 `set:"limit.ceiling_share"`
	HoleLimit    float64 `set:"limit.hole"`
	ThickAsk     float64 `set:"limit.wrap_ask"` // D divided by this
	LayersAsk    int     `set:"limit.layers"`
	CyclesAsk    float64 `set:"limit.cycles"`
	KitAsk       float64 `set:"limit.kit_mass"` // kg
	RollsAsk     int     `set:"limit.rolls"`

	WrapSystem string `set:"wrap.system"` // the only one laid; "" for the first in the table that serves

	// Money.
	Currency  string  `set:"money.currency"`
	Class     string  `set:"bid.class"`
	RangeLow  float64 `set:"bid.range_low" class:"range_low_pct"`                         // %
	RangeHigh float64 `set:"bid.range_high" least:"bid.range_low" class:"range_high_pct"` // %
	// Contingency, in %, is that of costs whose basis is percent-class; ProfitAs,
	// "markup" or "margin", says what a percentage of basis percent-profit is of.
	Contingency float64 `set:"bid.contingency" class:"contingency_pct"`
	ProfitAs    string  `set:"bid.profit_as"`

	// Of the offer to a client; what is open has to be filled in by hand.
	SurveyDay   string `set:"dates.survey"` // yyyy-mm-dd or empty
	PricesDay   string `set:"dates.prices"` // yyyy-mm-dd or empty
	Firm        string `set:"offer.firm"`
	FirmAddress string `set:"offer.firm_address"`
	Client      string `set:"offer.client"`
	Project     string `set:"offer.project"`
	OfferNumber string `set:"offer.number"`
	OfferDay    string `set:"offer.date"`       // yyyy-mm-dd; empty: the day printed
	ValidDays   int    `set:"offer.valid_days"` // from the day of the offer

	EqualNames string  `set:"name.equal"`         // "stop" or "chainage"
	NameWithin float64 `set:"name.within"`        // mm
	MostDays   int     `set:"campaign.most_days"` // working days
	LabelCode  string  `set:"label.code"`         // "square" or "bars"
	BooksBy    string  `set:"output.books_by"`    // "area" or "crew"

	Paper  string  `set:"output.paper"` // "A4" or "Letter"
	Units  string  `set:"output.units"` // "metric" or "inch"
	VaryBy float64 `set:"output.vary"`  // %

	// Sheets of labels: of kits, and smaller ones of pieces, offcuts and packs.
	LabelAcross      int     `set:"label.across"`
	LabelDown        int     `set:"label.down"`
	LabelWide        float64 `set:"label.pitch_across"` // mm
	LabelTall        float64 `set:"label.pitch_down"`   // mm
	SmallLabelAcross int     `set:"small_label.across"`
	SmallLabelDown   int     `set:"small_label.down"`
	SmallLabelWide   float64 `set:"small_label.pitch_across"` // mm
	SmallLabelTall   float64 `set:"small_label.pitch_down"`   // mm
	LabelLeftA4      float64 `set:"label.left_a4"`            // mm
	LabelTopA4       float64 `set:"label.top_a4"`             // mm
	LabelLeftLetter  float64 `set:"label.left_letter"`        // mm
	LabelTopLetter   float64 `set:"label.top_letter"`         // mm

	// Of what one vehicle carries of a packing group with exemptions, kg.
	TransportI   float64 `set:"transport.limit_i"`
	TransportII  float64 `set:"transport.limit_ii"`
	TransportIII float64 `set:"transport.limit_iii"`

	// Of the range of the outcome.
	RangeDraws int     `set:"range.draws"`
	RangeSeed  int     `set:"range.seed"`
	RangeAt    float64 `set:"range.contingency_at"` // %
	RangeWork  int     `set:"range.work_units"`     // of cut.work_units, in a draw
	RangeRolls string  `set:"range.rechoose"`       // order.rechoose, in a draw

	// Of what is learned from what was used.
	LearnWeight    float64 `set:"learn.weight"`    // repairs
	LearnSpread    float64 `set:"learn.spread"`    // %
	LearnCertainty float64 `set:"learn.certainty"` // %
	LearnOdd       float64 `set:"learn.odd"`       // %

	// Limits of what a survey may take.
	IntakeFile    int     `set:"intake.file_mb"`
	IntakeCell    int     `set:"intake.cell_bytes"`
	IntakeRows    int     `set:"intake.rows"`
	IntakeColumns int     `set:"intake.columns"`
	IntakeUnzip   int     `set:"intake.unzip_mb"`
	IntakeRatio   float64 `set:"intake.unzip_ratio"`
	IntakeParts   int     `set:"intake.zip_parts"`
	IntakeQueries int     `set:"intake.queries"`
	CheckWhole    int     `set:"check.whole_rows"`

	// What is asked about in a survey.
	DoubtWallGone float64 `set:"doubt.wall_gone"`                    // % of the wall
	DoubtLong     float64 `set:"doubt.defect_long"`                  // mm
	DoubtSmall    float64 `set:"doubt.defect_small"`                 // mm
	DoubtODLow    float64 `set:"doubt.od_low"`                       // mm
	DoubtODHigh   float64 `set:"doubt.od_high" least:"doubt.od_low"` // mm
	DoubtODOff    float64 `set:"doubt.od_off"`                       // %
	DoubtWallOver float64 `set:"doubt.wall_over"`                    // %
	DoubtPressure float64 `set:"doubt.pressure_high"`                // MPa
	DoubtHoop     float64 `set:"doubt.hoop_high"`                    // MPa
}
