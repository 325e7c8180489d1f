package validate

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate/internal/danger"
)

// spoken is what the words of one find speak of, and the member in which each danger stood first.
type spoken struct {
	of       danger.Kind
	ordnance string
	human    string
	aircraft string
}

// speaksOf looks through every word of a find, whatever its column and whether its heading was understood.
func speaksOf(c *Case) *spoken {
	s, _ := c.facts.spoken.get(func() (spoken, bool) { return listen(c), true })
	return s
}

// heard is what a text speaks of. Most cells of a log say what others of it say.
var heard = memo.New(func(k memo.Key[struct{}]) danger.Heard { return theTables().danger.Scan(k.Text) })

func heardIn(text string) danger.Heard { return heard.Of(memo.Key[struct{}]{Text: text}) }

func listen(c *Case) (s spoken) {
	f := c.Find
	most := ^danger.Kind(0)
	if theTables().in("harmless", classOf(f)) || classOf(f) == "bone-remains" {
		most = 0
	}
	// Words of one thing may stand in two cells, in the order of a row: mortar and bomb, button and grenade.
	own := [...]struct{ pointer, text string }{{"/name", f.Name}, {"/objectClass", saidOf(f.ObjectClass)},
		{"/type", f.Type}, {"/description", f.Description}}
	var room [256]byte
	row := room[:0]
	for _, m := range own {
		if m.text != "" {
			row = append(append(row, m.text...), ' ')
		}
	}
	all := heardIn(string(row))
	if of := all.Surely | all.Perhaps&most; of != 0 {
		for _, m := range own {
			one := heardIn(m.text)
			s.add(of&(one.Surely|one.Perhaps), m.pointer)
		}
		for _, m := range own {
			if m.text != "" {
				s.add(of&^s.of, m.pointer)
			}
		}
	}
	otherWords(f, func(pointer, of, text string) {
		if text == "" {
			return
		}
		heard := heardIn(text)
		said := heard.Surely
		if most != 0 && heard.Perhaps&danger.Ordnance != 0 {
			said |= guessed(text, f.Name) & danger.Ordnance
		}
		if said != 0 {
			if of != "" {
				pointer += "/" + notice.Escape(of)
			}
			s.add(said, pointer)
		}
	})
	return s
}

// guessed is what a note takes the object itself for: "iron thing" with "left it - shell?" beside it. What stands with
// the name is heard with it: "button" and "shell?" are a shell button.
func guessed(note, name string) (of danger.Kind) {
	for asked := range strings.SplitAfterSeq(note, "?") {
		asked, is := strings.CutSuffix(asked, "?")
		if !is {
			continue
		}
		clauses := clauseEnd().Split(strings.ReplaceAll(asked, " - ", ";"), -1)
		if last := strings.TrimSpace(clauses[len(clauses)-1]); strings.Count(last, " ") < 4 {
			of |= heardIn(last).Perhaps & (heardIn(last+" "+name).Perhaps | heardIn(last+" "+name).Surely)
		}
	}
	return of
}

// otherWords hands on each text of a find that is not of the object itself: its member,
// which one of it (a number, a heading or nothing), and the text.
func otherWords(f *find.Find, hear func(pointer, of, text string)) {
	hear("/question", "", f.Question)
	hear("/notes", "", f.Notes)
	var few [16]string
	for _, heading := range find.SortedKeys(few[:0], f.Columns) {
		hear("/columns", heading, f.Columns[heading])
	}
	if f.Place != nil {
		hear("/place", "", f.Place.Verbatim)
	}
	if f.Found != nil {
		hear("/found/date", "", f.Found.Verbatim)
	}
	if f.Depth != nil {
		hear("/depth", "", f.Depth.Verbatim)
	}
	for _, q := range [...]struct {
		pointer string
		of      *find.Quantity
	}{{"/count", f.Count}, {"/weight", f.Weight}} {
		if q.of != nil {
			hear(q.pointer, "", q.of.Verbatim)
		}
	}
	for i := range f.Materials {
		m := &f.Materials[i]
		hear("/materials", strconv.Itoa(i), m.Part)
		hear("/materials", strconv.Itoa(i), saidOf(&m.Term))
	}
	if f.Condition != nil {
		hear("/condition", "", saidOf(f.Condition.State))
		hear("/condition", "", saidOf(f.Condition.Completeness))
	}
	for i := range f.Marks {
		hear("/marks", strconv.Itoa(i), f.Marks[i].Meaning)
	}
	if f.Dating != nil {
		hear("/dating", "", f.Dating.Verbatim)
	}
	if f.Signal != nil {
		hear("/signal", "", f.Signal.Note)
	}
	for i := range f.Media {
		hear("/media", strconv.Itoa(i), f.Media[i].Caption)
	}
	hear("/disposition", "", saidOf(f.Disposition))
	hear("/storage", "", f.Storage)
	hear("/storagePlace", "", f.StoragePlace)
	hear("/value", "", f.Value)
}

// saidOf returns the words of a term.
func saidOf(t *find.Term) string {
	switch {
	case t == nil:
		return ""
	case t.Note != "":
		return t.Verbatim + "\n" + t.Note
	}
	return t.Verbatim
}

func (s *spoken) add(d danger.Kind, pointer string) {
	for _, one := range [...]struct {
		of danger.Kind
		at *string
	}{{danger.Ordnance, &s.ordnance}, {danger.HumanRemains, &s.human}, {danger.Aircraft, &s.aircraft}} {
		if d&one.of != 0 && *one.at == "" {
			*one.at = pointer
		}
	}
	s.of |= d
}

// ordnanceAt returns the member that says that the find may be ammunition that can explode.
func ordnanceAt(c *Case) string {
	f := c.Find
	for i := range f.Hazards {
		if f.Hazards[i].Is("explosive", "ammunition") && f.Hazards[i].Certainty != "unlikely" {
			return fmt.Sprintf("/hazards/%d", i)
		}
	}
	switch classOf(f) {
	case "explosive":
		return "/objectClass"
	case "cartridge":
		if hasTrace(f, "unfired") {
			return "/traces"
		}
	}
	if at := speaksOf(c).ordnance; at != "" {
		return at
	}
	if heavyRoundIron(f) {
		return "/dimensions/diameter"
	}
	return ""
}

// heavyRoundIron reports whether the find is a round body of iron over 40 mm across that is not known to
// be solid: it may be a shell with its charge.
func heavyRoundIron(f *find.Find) bool {
	if m := material(f); m != "iron" && m != "cast-iron" && m != "steel" || f.Dimensions == nil {
		return false
	}
	switch classOf(f) {
	case "artillery-shot":
		if f.ObjectClass.Certainty == "certain" {
			return false
		}
	case "", "unidentified", "other":
	default:
		return false
	}
	d := f.Dimensions
	if d.Length.HasValue() || d.Width.HasValue() || d.Thickness.HasValue() {
		return false // a disc or a bar, not a ball
	}
	diameter, ok := least(d.Diameter)
	if !ok || diameter <= 40 {
		return false
	}
	weight, weighed := most(f.Weight)
	if !weighed {
		return classOf(f) == "artillery-shot"
	}
	// A third of a solid iron ball is still far too heavy for a hoop, a lid or a hollow knob.
	return weight > 7*math.Pi/6*diameter*diameter*diameter/1000/3
}

// remainsAt returns the member that says that human remains may have been met.
func remainsAt(c *Case) string {
	f := c.Find
	if f.HumanRemains != nil && *f.HumanRemains {
		return "/humanRemains"
	}
	for i := range f.Hazards {
		if f.Hazards[i].Is("human-remains") && f.Hazards[i].Certainty != "unlikely" {
			return fmt.Sprintf("/hazards/%d", i)
		}
	}
	switch classOf(f) {
	case "human-remains", "coffin-part":
		return "/objectClass"
	}
	if f.HumanRemains != nil {
		return "" // the finder has looked and says no
	}
	return speaksOf(c).human
}

// inReport tells the texts of a report, outside its finds, that speak of a danger: what stood in the log and is no
// find, and what stood beside people, permissions and outings.
func inReport(r *find.Report, of danger.Kind, say func(pointer string)) {
	hear := func(pointer, text string) {
		if heardIn(text).Surely&of != 0 {
			say(pointer)
		}
	}
	columns := func(list string, i int, all map[string]string) {
		for _, heading := range slices.Sorted(maps.Keys(all)) {
			hear(fmt.Sprintf("/%s/%d/columns/%s", list, i, notice.Escape(heading)), all[heading])
		}
	}
	for i, text := range r.Notes {
		hear(fmt.Sprintf("/notes/%d", i), text)
	}
	for i := range r.People {
		columns("people", i, r.People[i].Columns)
	}
	for i := range r.Permissions {
		columns("permissions", i, r.Permissions[i].Columns)
	}
	for i := range r.Outings {
		columns("outings", i, r.Outings[i].Columns)
	}
}
