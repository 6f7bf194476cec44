package survey

// builtinSynonyms are plain trade words for the fields, one line a field, parted
// by semicolons, as normHeading leaves them. Only words that can mean one field
// alone are here; words that may mean several are in unclearWords and raise a
// query instead. Each is general language: none is taken from a register or a
// form.
var builtinSynonyms = map[fieldID]string{
	fID:            "item; item no; no; nr; ref; reference; ref no; defect no; defect number; defect id; feature id; anomaly id; №; номер; lfd nr",
	fLine:          "line no; line number; line name; line id; pipe; pipe no; pipeline; линия; трубопровод; leitung; rohrleitung; ligne",
	fArea:          "plant area; plant unit; process unit; участок; установка; anlage; bereich; zone de l'unité",
	fChainage:      "abs distance; absolute distance; log distance; distance along line; distance along pipe; distance from start; stationing; stationierung; kp; kilometre point; расстояние от начала; point kilométrique",
	fOD:            "o d; outside diameter; outer diameter; external diameter; outside dia; pipe od; measured od; od measured; actual od; наружный диаметр; диаметр наружный; außendurchmesser; aussendurchmesser; diamètre extérieur",
	fCircumference: "girth; taped circumference; pipe circumference; окружность; umfang; circonférence",
	fSize:          "nominal size; nom size; pipe size; line size; nominal diameter; nominal bore; nb; nominal pipe size; nps; dn; nennweite; ду; условный диаметр; diamètre nominal",
	fSeries:        "pipe series; size series; size standard",
	fWall:          "wall thickness; nominal wall; nominal wall thickness; nominal thickness; wt; nominal wt; nom wt; pipe wall; толщина стенки; wanddicke; nennwanddicke; épaisseur nominale",
	fAxial:         "axial length; length axial; axial extent; axial size; defect length; defect axial; length of defect; feature length; anomaly length; длина дефекта; axiale länge; longueur axiale",
	fCirc:          "circumferential width; circumferential extent; circumferential size; circ width; circ extent; width circumferential; defect width; defect circumferential; width of defect; feature width; anomaly width; ширина дефекта; breite am umfang; largeur circonférentielle",
	fHole:          "hole diameter; hole dia; hole size; диаметр отверстия; lochdurchmesser; diamètre du trou",
	fRemaining:     "remaining wall; remaining wall thickness; residual wall; residual wall thickness; residual thickness; remaining thickness; min wall; minimum wall; minimum wall thickness; min thickness; minimum thickness; min wt; rwt; остаточная толщина; restwanddicke; épaisseur restante",
	fDepth:         "defect depth; wall loss; metal loss; metal loss depth; loss of wall; depth of loss; feature depth; anomaly depth; глубина дефекта; wandverlust",
	fLeaking:       "leak; leaks; leakage; active leak; leak y n; leak yes no; leaking y n; leaking yes no; течь; утечка; leckage; undicht; fuite",
	fClock:         "clock position; clock pos; o clock; oclock; o'clock; o'clock position; orientation; uhrlage; часовое положение; position horaire",
	fPressure:      "design pressure; pressure design; расчетное давление; расчётное давление; auslegungsdruck; pression de calcul",
	fLivePressure:  "pressure at repair; pressure during repair; pressure during work; pressure during the work; pressure at time of work",
	fStress:        "allowable stress; design stress",
	fAxialForce:    "axial load; end load",
	fSurfaceTemp:   "surface temperature; temperature surface; pipe temperature; pipe temp; skin temperature; skin temp; metal temperature; metal temp",
	fDesignTemp:    "design temperature; temperature design",
	fAirTemp:       "air temperature; ambient temperature; ambient temp; temperature ambient; temperature air",
	fHumidity:      "relative humidity; humidity relative; rh",
	fSurface:       "surface condition; surface state; condition of surface",
	fMedium:        "fluid; contents; service fluid; среда; fluide",
	fHazardous:     "hazardous area; area hazardous; ex area",
	fLayers:        "wrap layers; design layers; no of layers; number of layers",
	fFreeRunBefore: "free length before; clear length before",
	fFreeRunAfter:  "free length after; clear length after",
	fComponent:     "component type; fitting",
	fBendRadius:    "radius of bend",
	fBendAngle:     "angle of bend",
	fAccess:        "access type; access method",
	fLife:          "design life; service life; repair life",
	fNeedDate:      "needed by; required by; date needed; date required; required date",
	fNote:          "notes; remark; remarks; comment; comments; примечание; bemerkung; bemerkungen; remarque; remarques",
}

// unclearWords are headings that may mean several fields.
var unclearWords = map[string][]fieldID{
	"diameter":              {fOD, fSize, fHole},
	"dia":                   {fOD, fSize, fHole},
	"pipe diameter":         {fOD, fSize},
	"pipe dia":              {fOD, fSize},
	"диаметр":               {fOD, fSize, fHole},
	"durchmesser":           {fOD, fSize, fHole},
	"length":                {fAxial, fFreeRunAfter},
	"длина":                 {fAxial, fFreeRunAfter},
	"width":                 {fCirc, fAxial},
	"thickness":             {fWall, fRemaining},
	"measured thickness":    {fRemaining, fWall},
	"measured wall":         {fRemaining, fWall},
	"temperature":           {fSurfaceTemp, fDesignTemp, fAirTemp},
	"temp":                  {fSurfaceTemp, fDesignTemp, fAirTemp},
	"operating temperature": {fSurfaceTemp, fDesignTemp},
	"operating pressure":    {fPressure, fLivePressure},
	"working pressure":      {fPressure, fLivePressure},
	"давление":              {fPressure, fLivePressure},
	"distance":              {fChainage, fFreeRunBefore},
	"station":               {fChainage, fID},
	"position":              {fChainage, fClock},
	"location":              {fChainage, fArea, fID},
	"service":               {fMedium, fSurface},
	"radius":                {fBendRadius},
	"zone":                  {fHazardous, fArea},
	"section":               {fArea, fLine},
	"force":                 {fAxialForce},
	"date":                  {fNeedDate},
}

// headingUnits are units that the words of a heading carry in themselves.
var headingUnits = map[string]string{"kp": "km", "kilometre point": "km", "point kilométrique": "km"}

// headingSeries are what the words of a size heading say about the pipe series:
// "NPS" names it, "DN" names one of several.
var headingSeries = map[string]string{"nps": "NPS", "nominal pipe size": "NPS", "dn": "DN", "ду": "DN"}
