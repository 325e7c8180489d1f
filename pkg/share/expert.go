package share

import (
	"cmp"
	"html/template"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

type expertData struct {
	*pageWords
	Lang, Tool, Day, Copy, Policy string
	Finds                         []expertFind
	Sure, Seen                    [][2]string // choices: code and label
	Script                        template.JS
}

type expertFind struct {
	ID, Number, Name, Question string
	Pictures                   []expertPicture
	Rows                       [][2]string // what is known of it
	Marks                      []string
	HandsOff                   bool
	Cautions                   []caution
}

type expertPicture struct {
	View, Caption string
	Scale         bool
	Address       template.URL // empty: the picture is not at hand
}

// Lacks says what is missing before a find may be shown to an expert: two views, a scale, the
// sizes, the weight, the material and how it is known, the marks as read, the question. Nothing is
// asked for where the thing must not be handled.
func Lacks(f *find.Find) (out []string) {
	if handsOff(f, nil) {
		return nil
	}
	views, scale := map[string]bool{}, false
	for i := range f.Media {
		m := &f.Media[i]
		if m.View.Is(thingViews...) {
			views[m.View.Code] = true
		}
		scale = scale || m.Scale != nil && *m.Scale
	}
	excused := func(pointer string) bool {
		reason := f.Absent[pointer]
		return reason == "not-applicable"
	}
	need := func(given bool, pointer, what string) {
		if !given && !excused(pointer) {
			out = append(out, what)
		}
	}
	need(f.Question != "", "/question", "the question")
	need(len(views) >= 2, "/media", "two views of it")
	need(scale, "/media", "a scale in a picture")
	need(f.Dimensions != nil, "/dimensions", "the sizes")
	need(f.Weight.HasValue(), "/weight", "the weight")
	need(len(f.Materials) > 0, "/materials", "what it is made of")
	if len(f.Materials) > 0 {
		why := slices.ContainsFunc(f.Materials, func(m find.Material) bool { return m.Basis != "" || m.Certainty != "" }) ||
			f.Magnetic != nil
		need(why, "/materials", "how the material is known (colour, magnet, a test)")
	}
	need(len(f.Marks) > 0, "/marks", "the marks as you read them, or that there are none (write not applicable)")
	return out
}

func expertPage(r *find.Report, o SheetOptions) expertData {
	w := pageWordsOf(cmp.Or(o.Language, r.Language))
	w.foreign = o.Language != "" && find.FoldName(o.Language) != find.FoldName(r.Language)
	page := expertData{pageWords: w, Lang: w.language, Tool: o.Tool, Day: w.date(Audience(r.Audience).monthTold(o.Day)),
		Copy: r.ID, Script: template.JS(answerScript), // ours
		Policy: answerPolicy(), Sure: w.choices("certainty"), Seen: w.choices("opinion-seen")}
	asked := slices.ContainsFunc(r.Finds, func(f *find.Find) bool { return f.Question != "" })
	for _, f := range r.Finds {
		if !asked || f.Question != "" {
			page.Finds = append(page.Finds, w.expertFindOf(f, o))
		}
	}
	slices.SortStableFunc(page.Finds, func(a, b expertFind) int { // a copy has no order of its own; people have numbers
		return cmp.Or(cmp.Compare(len(a.Number), len(b.Number)), cmp.Compare(a.Number, b.Number))
	})
	return page
}

// choices are the codes of a list with their labels.
func (w *pageWords) choices(list string) (out [][2]string) {
	for _, c := range vocabulary.Get(list).Concepts {
		if c.Code != "unknown" && c.Code != "other" {
			out = append(out, [2]string{c.Code, c.Label(w.language)})
		}
	}
	return out
}

func (w *pageWords) expertFindOf(f *find.Find, o SheetOptions) expertFind {
	e := expertFind{ID: f.ID, Number: f.Number, Name: f.Name, Question: f.Question, HandsOff: handsOff(f, o.Notices)}
	var own notice.List
	for i := range o.Notices {
		if o.Notices[i].Find == findLabel(f) {
			own = append(own, o.Notices[i])
		}
	}
	e.Cautions = cautionsIn(own, w.language)
	for i := range f.Media {
		m := &f.Media[i]
		e.Pictures = append(e.Pictures, expertPicture{View: w.words("photo-view", m.View), Caption: m.Caption,
			Scale: m.Scale != nil && *m.Scale, Address: inline(o.Pictures[m.File])})
	}
	e.Rows = w.expertRows(f)
	for i := range f.Marks {
		m := &f.Marks[i]
		e.Marks = append(e.Marks, joined(cmp.Or(m.Text, w.T("cannotBeRead")), w.words("mark-kind", m.Kind),
			w.words("mark-side", m.Side)))
	}
	return e
}

// expertRows are what is known of a find, by name; what is not known has no row.
func (w *pageWords) expertRows(f *find.Find) (rows [][2]string) {
	row := func(name, text string) {
		if text != "" {
			rows = append(rows, [2]string{w.T("row-" + name), text})
		}
	}
	row("how many", w.howMany(f))
	row("kind of object", w.words("object-class", f.ObjectClass))
	row("type", f.Type)
	row("size", w.sizesOf(f.Dimensions))
	row("weight", joined(w.shown(f.Weight, quantity.G), w.words("weight-state", f.WeightState)))
	for i := range f.Materials {
		m := &f.Materials[i]
		why := ""
		if m.Basis != "" {
			why = w.T("knownBy") + ": " + w.label("identification-basis", m.Basis)
		}
		row("material", joined(w.words("material", &m.Term), m.Part, why))
	}
	row("magnet", w.words("magnetic", f.Magnetic))
	row("coating", w.allWords("technique", f.Coating))
	row("technique", w.allWords("technique", f.Technique))
	if c := f.Condition; c != nil {
		row("condition", joined(w.words("completeness", c.Completeness), w.words("condition-state", c.State),
			w.words("wear", c.Wear)))
	}
	var traces []string
	for i := range f.Traces {
		traces = append(traces, w.words("trace", &f.Traces[i].Term))
	}
	row("traces", joined(traces...))
	if d := f.Dating; d != nil {
		row("thought to be of", cmp.Or(d.Verbatim, w.years(d.Date)))
	}
	if id := f.Identification; id != nil && id.Certainty != "" {
		row("how sure", w.label("certainty", id.Certainty))
	}
	row("description", f.Description)
	return rows
}

func (w *pageWords) allWords(list string, terms []find.Term) string {
	var all []string
	for i := range terms {
		all = append(all, w.words(list, &terms[i]))
	}
	return joined(all...)
}

// sizesOf names each size that is known.
func (w *pageWords) sizesOf(d *find.Dimensions) string {
	if d == nil {
		return ""
	}
	var sizes []string
	for _, s := range []struct {
		name string
		q    *find.Quantity
	}{{"length", d.Length}, {"width", d.Width}, {"height", d.Height}, {"thickness", d.Thickness},
		{"diameter", d.Diameter}} {
		if text := w.shown(s.q, quantity.MM); text != "" {
			sizes = append(sizes, w.T("size-"+s.name)+" "+text)
		}
	}
	text := strings.Join(sizes, ", ")
	if d.Surviving != nil && *d.Surviving && text != "" {
		text += " (" + w.T("ofWhatIsLeft") + ")"
	}
	return text
}

// Years shows a date of EDTF as people write it in a language: about 1720, 1660s, 1700–1799, 200 BC.
func Years(date, language string) string { return pageWordsOf(language).years(date) }

// yearOf is a year, a decade or a century of EDTF.
var yearOf = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^(-?)(\d{4}|\d{3}X|\d\dXX)$`) })

func (w *pageWords) years(date string) string {
	if from, to, ok := strings.Cut(date, "/"); ok {
		switch {
		case from == "..", from == "":
			return w.T("before") + " " + w.years(to)
		case to == "..", to == "":
			return w.T("after") + " " + w.years(from)
		}
		return w.years(from) + "–" + w.years(to)
	}
	if at := strings.TrimRight(date, "~?%"); at != date && at != "" {
		text := w.years(at)
		if strings.ContainsAny(date[len(at):], "~%") {
			text = w.T("about") + " " + text
		}
		if strings.ContainsAny(date[len(at):], "?%") {
			text = w.T("perhaps") + " " + text
		}
		return text
	}
	m := yearOf().FindStringSubmatch(date)
	if m == nil {
		return date
	}
	first, _ := strconv.Atoi(strings.ReplaceAll(m[2], "X", "0"))
	switch open := strings.Count(m[2], "X"); {
	case open > 0 && m[1] != "":
		return date
	case m[1] != "" || first == 0 && open == 0:
		return strings.ReplaceAll(w.T("bc"), "{n}", strconv.Itoa(first+1))
	case open == 1 && first%100 > 0: // 170X may be taken for a century
		return strings.ReplaceAll(w.T("decade"), "{n}", strconv.Itoa(first))
	case open > 0:
		return strconv.Itoa(first) + "–" + strconv.Itoa(first+[]int{0, 9, 99}[open])
	}
	return strconv.Itoa(first)
}

// joined joins what is given.
func joined(parts ...string) string {
	return strings.Join(slices.DeleteFunc(slices.Clone(parts), func(s string) bool { return s == "" }), ", ")
}
