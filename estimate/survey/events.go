package survey

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"wraptally/estimate/trace"
)

// eventHeadings are words of headings below which a register says what a row is.
var eventHeadings = wordSet("what finding findings observation observations issue defect event type feature anomaly class classification identification category kind description comment comments remark remarks status state condition " +
	"cause failure break breaks damage component problem source system main repair " +
	"art schadensart typ merkmal befund leckstelle zustand stand bearbeitungsstand schaden bemerkung bemerkungen nature état cause remarque remarques тип вид состояние характер примечание " +
	"tipo avería causa estado situación situação observaciones observações soort oorzaak opmerking opmerkingen stato rottura rodzaj przyczyna stan uwagi")

// otherDefects are words for what the rules of a thinned wall do not hold for, and for
// what is repaired already. Common practice, no source.
var otherDefects = wordSet("dent dents dented gouge gouges crack cracks cracked cracking scc buckle wrinkle lamination sleeve sleeved clamp clamped patched repaired wrapped replaced burst rupture " +
	"beule beulen riss risse rundriss längsriss rohrbruch schelle reparaturschale repariert reparierte repariertes saniert sanierte enfoncement enfoncements fissure casse collier réparé réparée réparés réparées вмятина трещина разрыв муфта хомут отремонтирован отремонтировано " +
	"abolladura abolladuras grieta rotura abrazadera reparado reparada trinca rompimento ammaccatura ammaccature cricca cricche riparato riparata " +
	"deuk deuken breuk scheur hersteld gerepareerd wgniecenie wgniecenia pęknięcie naprawiona naprawiono naprawiony")

// otherEvents are further words for it where a column says what a row is, and that in
// a remark may say no more than where it is, or how the survey went. Common practice,
// no source.
var otherEvents = wordSet("blister weld welds valve tee tap patch break broken split joint flange gasket packing trap gland hydrant fitting elbow bend reducer closed done completed complete fixed cancelled canceled comp teco clsd " +
	"bruch schweißnaht schweissnaht rundschweißnaht längsschweißnaht rundnaht längsnaht muffe flansch schieber kondensatableiter behoben erledigt abgeschlossen " +
	"bosse rupture soudure raccord vanne bride terminé terminée clôturé clôturée шов устранено устранён " +
	"junta válvula brida soldadura cerrado cerrada terminado terminada solda executado executada concluído concluída cancelado cancelada giunto saldatura chiuso chiusa valvola flangia " +
	"lasnaad flens afsluiter gereed złącze zasuwa spoina kołnierz usunięta usunięto zakończona zakończono")

// otherMaterials are words for materials of pipe that are no steel; those in capitals are
// codes that small letters do not mean. Common practice, no source.
var otherMaterials = wordSet("pvc hdpe mdpe pex grp frp gre asbestos ductile cast PE CI CIP DI DIP DICL AC A/C AZ gusseisen grauguss gietijzer fonte fundición fofo żeliwo fibrocemento ghisa чугун")

// coatings are words of headings below which materials are those of the coating.
var coatings = wordSet("coating coatings lining insulation covering umhüllung beschichtung isolierung auskleidung dämmung revêtement enrobage revestimiento recubrimiento revestimento rivestimento bekleding powłoka izolacja покрытие изоляция")

// doneHeadings are words of headings below which a date or a yes says that the row
// is repaired already.
var doneHeadings = wordSet("repaired repair repairdate fixed closed cleared finish completed réparé réparée réparation repariert behoben erledigt reparado reparada reparación reparo execução hersteld gerepareerd afgehandeld usunięcia naprawy riparazione устранения ремонта")

// countWords and countedWords together head a column that counts the leaks of a row.
var (
	countWords   = wordSet("no nos number qty quantity count anzahl nombre nb número numero n° nº aantal liczba ilość")
	countedWords = wordSet("leaks breaks holes pinholes defects lecks lecke leckagen löcher fuites trous casses fugas roturas agujeros lekken gaten breuken wycieków pęknięć vazamentos furos")
)

func countsLeaks(heading []string) bool {
	return slices.ContainsFunc(heading, func(w string) bool { return countWords[w] }) && slices.ContainsFunc(heading, func(w string) bool { return countedWords[w] })
}

// mostWords is the most words of a cell that says what a pipe is, and no more.
const mostWords = 3

// maxGiven is the most bytes of a cell that a command line names.
const maxGiven = 80

// mostEvents bounds what is kept of a column, so that one of free text takes no room.
const mostEvents = 12

// events counts, of a column that no field takes or that is the note, the rows estimated that say they
// are something else than a loss of wall.
type events struct {
	at     int    // index of the cell
	kind   bool   // what stands below may say what the row is
	done   bool   // a date or a yes below says that the row is repaired
	mixed  bool   // other cells below say otherwise
	count  bool   // what stands below counts leaks
	remark bool   // taken as the note: only what is said of the defect counts
	long   string // the first of the cells that a command line cannot name
	pipes  bool   // materials of pipe stand below, whatever the heading
	rows   int
	values []string        // the first of them, as they stand
	known  map[string]bool // cells judged before, the first few
}

// watchEvents finds the columns of events among those that no field takes, the note's
// beside them. Where a filter says which rows are meant there is nothing to ask; where
// it leaves some out, what others say still is.
func (rd *reader) watchEvents() {
	for at, text := range rd.head.texts {
		words := strings.Fields(normHeading(text))
		has := func(set map[string]bool) bool {
			return slices.ContainsFunc(words, func(w string) bool { return set[w] })
		}
		read := slices.IndexFunc(rd.cols, func(c column) bool { return c.at == at })
		remark := read >= 0 && rd.cols[read].field == fNote
		chosen := slices.ContainsFunc(rd.filters, func(f rowFilter) bool { return f.column == at && !f.not })
		if read >= 0 && !remark || chosen || has(coatings) {
			continue
		}
		e := events{at: at, known: make(map[string]bool), remark: remark, kind: !remark && has(eventHeadings), done: has(doneHeadings), count: countsLeaks(words)}
		e.pipes = !remark && slices.ContainsFunc(rd.sampleOf(at), func(c string) bool { return len(strings.Fields(c)) <= mostWords && otherMaterial([]byte(c)) })
		if e.remark || e.kind || e.done || e.count || e.pipes {
			rd.events = append(rd.events, e)
		}
	}
}

// noteEvents looks at the row in hand, which is estimated.
func (rd *reader) noteEvents() {
	for i := range rd.events {
		e := &rd.events[i]
		if e.at >= len(rd.now.cells) {
			continue
		}
		cell := trim(rd.now.cells[e.at])
		other, seen := e.known[string(cell)]
		if !seen {
			other = e.other(cell, rd.decimal)
			if len(e.known) < maxSeenValues {
				e.known[string(cell)] = other
			}
		}
		if !other {
			e.mixed = e.mixed || len(cell) > 0 && !isNotGiven(cell)
			continue
		}
		e.rows++
		if v := string(cell); len(v) > maxGiven || strings.Contains(v, "|") {
			e.long = cmp.Or(e.long, v)
		} else if len(e.values) < mostEvents && !slices.Contains(e.values, v) {
			e.values = append(e.values, v)
		}
	}
}

// other reports whether a cell of the column says that its row is something else.
func (e *events) other(cell []byte, decimal byte) bool {
	if e.count {
		n, _, st := scanNumber(cell, decimal, true)
		return st == numOK && n > 1
	}
	return (e.kind || e.remark) && namesOne(cell, otherDefects) || e.kind && namesOne(cell, otherEvents) ||
		(e.kind || e.pipes) && otherMaterial(cell) || e.done && saysDone(cell)
}

// otherMaterial reports whether a cell names a material of pipe that is no steel.
func otherMaterial(cell []byte) bool {
	return otherMaterials[string(cell)] || namesOne(cell, otherMaterials)
}

// namesOne reports whether a word of a cell is one of a set, as it stands or in small
// letters.
func namesOne(cell []byte, set map[string]bool) bool {
	var room [64]byte
	for len(cell) > 0 {
		n := bytes.IndexFunc(cell, noLetter)
		if n < 0 {
			n = len(cell)
		}
		word := cell[:n]
		if n > 1 && (set[string(word)] || set[string(lowered(word, room[:]))]) {
			return true
		}
		cell = cell[min(n+1, len(cell)):]
	}
	return false
}

// lowered is a word in small letters, in the room where it is short and plain.
func lowered(word, room []byte) []byte {
	for i, c := range word {
		if i == len(room) || c >= utf8.RuneSelf {
			return bytes.ToLower(word)
		}
		if room[i] = c; c >= 'A' && c <= 'Z' {
			room[i] = c + 'a' - 'A'
		}
	}
	return room[:len(word)]
}

// quoted is a word of a command line, in the marks under which the shell reads it as
// it stands.
func quoted(s string) string {
	if strings.ContainsAny(s, "\"$`\\") {
		return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
	}
	return `"` + s + `"`
}

// saysDone reports whether a cell below a heading such as "repaired" is a yes, or a
// date in whatever order.
func saysDone(cell []byte) bool {
	_, date := parseDate(cell)
	switch word := string(bytes.ToLower(cell)); word {
	case "o", "s", "t", "j", "x": // the first letters of yes, and a cross
		return true
	default:
		return date || fieldTable[fLeaking].choice[word] == "yes" && word != "1" || len(bytes.FieldsFunc(cell, noDigit)) >= 3
	}
}

func noDigit(r rune) bool { return !unicode.IsDigit(r) }

func noLetter(r rune) bool { return !unicode.IsLetter(r) }

// askEvents asks once a column what such rows do among the defects.
func (rd *reader) askEvents() {
	for _, e := range rd.events {
		code := "event-other"
		if e.count {
			code = "row-of-several"
		}
		if e.rows == 0 || rd.accepts[code] {
			continue
		}
		leave := e.values
		if e.done && !e.mixed {
			leave = []string{"*"} // dates are too many to be named
		}
		advice := "have the others designed; --accept event-other when that is done"
		if len(leave) > 0 {
			advice = "leave out what is not to be repaired so, with --only " + quoted(rd.head.inOneLine(e.at)+"!="+strings.Join(leave, "|")) + ", and " + advice
		}
		found := e.values
		if e.long != "" {
			found = append(found, e.long)
			advice = "read the long remarks and take the rows out of the survey that are not to be repaired so; " + advice
		}
		q := trace.Query{Code: code, Severity: severityOf[code],
			Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.head.line, Column: e.at + 1},
			Found: clip(strings.Join(found, ", ")),
			Message: fmt.Sprintf("%s by this column something else than a loss of wall of a steel pipe, or repaired already; estimated like the rest, and a wrap sized for a thinned wall may not hold there",
				trace.Count(e.rows, "row is", "rows are")),
			Advice: advice}
		if e.count {
			q.Message = trace.Count(e.rows, "row counts", "rows count") + " several leaks by this column, and each row is estimated as one defect"
			q.Advice = "give each leak a row of its own; --accept row-of-several where one repair covers them"
		}
		rd.rep.add(q)
	}
}
