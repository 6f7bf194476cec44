package survey

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// inEnglish are words of headings in German, French, Spanish, Portuguese, Italian,
// Dutch, Polish and Russian, by what they mean; from memory, no source. A heading
// that they explain is offered for a field and never taken for it unasked.
var inEnglish = func() map[string]string {
	m := make(map[string]string)
	for _, row := range [][2]string{ // the English; the words
		{"depth", "tiefe fehlertiefe profondeur profundidad profundidade profondità diepte głębokość глубина"},
		{"length", "länge laenge fehlerlänge longueur longitud comprimento lunghezza lengte długość длина"},
		{"width", "breite fehlerbreite largeur ancho anchura largura larghezza breedte szerokość ширина"},
		{"wall", "wand paroi pared parede parete ścianki ścianka ściany стенки стенка"},
		{"thickness", "dicke épaisseur espesor espessura spessore dikte grubość толщина"},
		{"wall thickness", "wanddicke wandstärke wanddikte"},
		{"remaining wall", "restwanddicke restwandstärke restwanddikte"},
		{"outside", "außen extérieur extérieure exterior externo externa esterno esterna zewnętrzna zewnętrzny наружный внешний"},
		{"diameter", "durchmesser diamètre diámetro diâmetro diametro średnica диаметр"},
		{"outside diameter", "außendurchmesser rohraußendurchmesser buitendiameter"},
		{"nominal", "nenn nominale nominaal nominalna nominalny номинальная номинальный"},
		{"remaining", "rest restante restant residuo residua residual residuel résiduel résiduelle resztkowa остаточная остаточный"},
		{"distance", "abstand distanz entfernung distancia distância distanza afstand odległość расстояние дистанция"},
		{"chainage", "stationierung kilometrierung abscisse progressiva progresiva kilometraż километраж пикетаж"},
		{"position", "lage position posición posição posizione positie pozycja położenie положение"},
		{"clock", "uhr uhrzeit uhrlage horaire horaria oraria horária klokpositie klokstand godzinowa zegarowa часовое час ориентация"},
		{"axial", "axiale axiaal osiowa osiowy осевая осевой"},
		{"circumferential", "umfang circonférentielle circunferencial circonferenziale omtrek obwodowa obwodowy окружная окружной"},
		{"hole", "loch trou agujero orificio furo foro gat otwór отверстие отверстия"},
		{"design pressure", "auslegungsdruck ontwerpdruk"},
		{"pressure", "druck pression presión pressão pressione druk ciśnienie давление"},
		{"temperature", "temperatur température temperatura temperatuur температура"},
		{"leaking", "undicht fuite fuga vazamento perdita lek lekkage wyciek nieszczelność течь утечка"},
		{"medium", "fluide fluido fluïdum czynnik среда"},
		{"material", "werkstoff matériau materiale materiaal materiał материал"},
		{"weld", "rundnaht schweißnaht soudure soldadura solda saldatura lasnaad las spoina spoiny шов шва"},
		{"joint length", "rohrlänge schusslänge buislengte"},
		{"item", "repère registro lp"},
		// between other words
		{"of", "der des die das du de la le del della do da di van het"},
		{"defect", "défaut defecto defeito difetto defecte wady wada дефекта дефект fehler"},
		{"pipe", "rohr tuyau tubo tubería buis leiding rury rura трубы труба"},
	} {
		for w := range strings.FieldsSeq(row[1]) {
			m[plain(w)] = row[0]
		}
	}
	return m
}()

// plain is a word without its marks, as a register may write it: "diametre",
// "profondita", "glebokosc".
func plain(word string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == 'ł':
			return 'l'
		case unicode.Is(unicode.Mn, r) && r != '\u0306': // й is a letter of its own
			return -1
		}
		return r
	}, norm.NFD.String(strings.ReplaceAll(word, "ß", "ss")))
}

// englishWords are the words of a heading, those of other languages in English.
func englishWords(heading string) []string {
	var list []string
	for w := range strings.FieldsSeq(normHeading(heading)) {
		if english := inEnglish[plain(strings.Trim(w, "#\"'"))]; english != "" {
			list = append(list, strings.Fields(english)...)
		} else {
			list = append(list, w)
		}
	}
	return list
}
