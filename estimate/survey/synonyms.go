package survey

// unclearWords are headings that may mean several fields.
var unclearWords = func() map[string][]fieldID {
	m := make(map[string][]fieldID)
	for _, row := range [][2]string{ // the words; the fields
		{"diameter; dia; диаметр; durchmesser; diamètre; diametre; diámetro; diametro; diâmetro; średnica; ø", "od; size; hole"},
		{"pipe diameter; pipe dia; rohrdurchmesser; leidingdiameter; średnica rury", "od; size"},
		{"length; длина", "axial"},
		{"t; t nom; s", "wall"},
		{"nominal", "wall; size"},
		{"width", "circ; axial"},
		{"thickness", "wall; remaining"},
		{"measured thickness; measured wall", "remaining; wall"},
		// left at the thinnest place, or the least that is allowed
		{"min wall; minimum wall; min wall thickness; minimum wall thickness; min thickness; minimum thickness; min wt; t min; tmin", "remaining"},
		{"current; current thickness; current reading; latest; latest reading; latest thickness; last reading; last thickness", "remaining"},
		{"temperature; temp; temperatur", "surface_temp; design_temp; air_temp"},
		{"operating temperature", "surface_temp; design_temp"},
		{"operating pressure; working pressure; давление; druck; betriebsdruck; pression; presión; pressão; ciśnienie; pressione; druk", "pressure; live_pressure"},
		{"distance; afstand; abstand; distancia; distância; distanza; odległość", "chainage"},
		{"station", "chainage; id"},
		{"position", "chainage; clock"},
		{"location", "chainage; area; id"},
		{"pipe name; main name; main id; functional location; technischer platz", "line; area"},
		{"service", "medium; surface"},
		{"radius", "bend_radius"},
		{"zone", "hazardous; area"},
		{"section", "area; line"},
		{"force", "axial_force"},
	} {
		var may []fieldID
		for _, key := range semicolons(row[1]) {
			may = append(may, field(key))
		}
		for _, word := range semicolons(row[0]) {
			m[word] = may
		}
	}
	return m
}()

// headingUnits are units that the words of a heading carry in themselves.
var headingUnits = map[string]string{"kp": "km", "km": "km", "kilometre point": "km", "point kilométrique": "km"}

// headingSeries are what the words of a size heading say about the pipe series:
// "NPS" names it, "DN" names one of several.
var headingSeries = map[string]string{"nps": "NPS", "nominal pipe size": "NPS", "dn": "DN", "ду": "DN"}
