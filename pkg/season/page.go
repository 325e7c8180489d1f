package season

import (
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

//go:embed page.html.tmpl
var pageText string

var pageTemplate = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("season").Funcs(template.FuncMap{"look": render.Look, "dict": with}).Parse(pageText))
})

// page is a season as it is shown.
type page struct {
	*Season
	words words
	day   string
}

// HTML writes the season as one page to print and to show. It asks for nothing elsewhere and runs nothing.
func (s *Season) HTML(w io.Writer, day string) error {
	return pageTemplate().Execute(w, &page{s, wordsOf(s.Language), day})
}

// figure is a drawing, or a table where nothing is drawn, and the table behind it.
type figure struct {
	ID, Title string
	Notes     []string
	Charts    []template.HTML
	Head      []string
	Rows      [][]string

	bars []Count
}

// shown is a figure with the page that it stands on.
type shown struct {
	P *page
	F figure
}

// with hands a figure to its template; in a template, one that may be missing is a pointer.
func with(p *page, f any) shown {
	switch f := f.(type) {
	case *figure:
		return shown{p, *f}
	case figure:
		return shown{p, f}
	}
	return shown{P: p}
}

// Say fills a text of the page.
func (p *page) Say(key string, pairs ...string) string { return p.words.say(key, pairs...) }

// Named reports whether the finds to show are those that were asked for.
func (p *page) Named() bool { return p.chosen }

// Span is the time that the season takes.
func (p *page) Span() string {
	if p.First == p.Last {
		return p.date(p.First)
	}
	return p.date(p.First) + " – " + p.date(p.Last)
}

// date puts a day or a month.
func (p *page) date(day string) string {
	if from, to, quarter := strings.Cut(day, "/"); quarter {
		return p.date(from) + " – " + p.date(to)
	}
	month := monthOf(day)
	if month == "" {
		return day
	}
	names := strings.Fields(p.Say("months"))
	text := names[int(month[5]-'0')*10+int(month[6]-'0')-1] + " " + month[:4]
	if len(day) == 10 {
		text = strings.TrimPrefix(day[8:], "0") + " " + text
	}
	return text
}

// Tiles are the figures of the whole, each with its name.
func (p *page) Tiles() (out [][2]string) {
	t := &p.Totals
	add := func(value, key string) { out = append(out, [2]string{value, p.Say(key)}) }
	add(itoa(t.Finds), "finds")
	if t.Objects != t.Finds {
		add(itoa(t.Objects), "objects")
	}
	if t.Outings > 0 {
		add(itoa(t.Outings), "outings")
		if t.Nothing > 0 {
			add(itoa(t.Nothing), "nothing")
		}
	}
	if t.Hours > 0 {
		add(p.words.comma(plain(t.Hours)), "hours")
		add(p.words.comma(plain(math.Round(t.FindsAnHour*10)/10)), "anHour")
	}
	return out
}

// Notes are sentences about the whole.
func (p *page) Notes() (out []string) {
	t := &p.Totals
	switch {
	case t.Hours > 0:
		out = append(out, p.Say("anHourOf", "n", itoa(t.TimedOut), "finds", itoa(t.TimedFinds)))
	case t.Outings > 0 && t.Unread+t.TimedOut == 0 && p.tells():
		out = append(out, p.Say("noHours"))
	}
	if t.Unread > 0 {
		out = append(out, p.Say("hoursUnread", "n", itoa(t.Unread)))
	}
	if t.Undated > 0 && (p.tells() || t.Undated < t.Finds) {
		out = append(out, p.Say("notToMonth", "n", itoa(t.Undated)))
	}
	return out
}

// tells reports whether the audience is told days and hours, as far as they are noted.
func (p *page) tells() bool {
	return exact(share.Audience(p.Audience)) || p.Audience == string(Show)
}

// Figures are the counts by month, field, material, age, kind and finder.
func (p *page) Figures() (out []figure) {
	if len(p.Months) > 0 {
		f := figure{ID: "months", Title: p.Say("byMonth"), Head: []string{p.Say("month"), p.Say("finds"), p.Say("outings"),
			p.Say("hours")}}
		f.Charts = append(f.Charts, p.monthBars("months-finds", p.Say("finds"),
			func(m Month) float64 { return float64(m.Finds) }),
			p.monthBars("months-hours", p.Say("hours"), func(m Month) float64 { return m.Hours }))
		if p.Audience == string(Show) {
			f.Head = append(f.Head, p.Say("nothing"))
		}
		for _, m := range p.Months {
			f.Rows = append(f.Rows, []string{p.date(m.Month), itoa(m.Finds), itoa(m.Outings), p.words.comma(plain(m.Hours)),
				itoa(m.Nothing)}[:len(f.Head)])
		}
		out = append(out, f)
	}
	for _, one := range []struct {
		id, title string
		list      []Count
	}{{"fields", "byField", p.Fields}, {"materials", "byMaterial", p.Materials}, {"ages", "byAge", p.Periods},
		{"classes", "byClass", p.Classes}, {"finders", "byFinder", p.Finders}} {
		if len(one.list) == 0 || len(one.list) == 1 && (one.list[0].Name == "" || one.id == "finders") {
			continue // nothing is said, or all is of one finder
		}
		f := figure{ID: one.id, Title: p.Say(one.title), Head: []string{"", p.Say("finds"), p.Say("objects")}}
		f.Charts = append(f.Charts, p.countBars(one.id, f.Title, one.list))
		unsure := one.id == "ages" && slices.ContainsFunc(one.list, func(c Count) bool { return c.Unsure > 0 })
		if one.id == "ages" {
			f.Notes = append(f.Notes, p.Say("agesMore"))
		}
		if unsure {
			f.Head = append(f.Head, p.Say("inDoubt"))
		}
		for _, c := range one.list {
			f.Rows = append(f.Rows, []string{p.named(c.Name), itoa(c.Finds), itoa(c.Objects), itoa(c.Unsure)}[:len(f.Head)])
		}
		out = append(out, f)
	}
	return out
}

// OutingTable are the outings as a table, with their hours where any are told.
func (p *page) OutingTable() *figure {
	if len(p.Outings) == 0 {
		return nil
	}
	f := &figure{Title: p.Say("byOuting"), Head: []string{p.Say("day"), p.Say("field"), p.Say("finds"), p.Say("hours")}}
	if p.Totals.Hours == 0 {
		f.Head = f.Head[:3]
	}
	for _, o := range p.Outings {
		hours, finds := "", itoa(o.Finds)
		if o.Hours > 0 {
			hours = p.words.comma(plain(o.Hours))
		}
		if o.Nothing {
			finds = p.Say("noFind")
		}
		f.Rows = append(f.Rows, []string{p.date(o.Day), o.Field, finds, hours}[:len(f.Head)])
	}
	return f
}

// DepthFigure is the plot of depths, or nothing.
func (p *page) DepthFigure() *figure {
	d := &p.Depth
	if len(d.Groups) == 0 {
		return nil
	}
	f := &figure{ID: "depth-figure", Title: p.Say("depthTitle"), Charts: []template.HTML{p.depthPlot()},
		Notes: []string{p.Say("depthMore")}}
	if len(d.Plough) == 0 {
		f.Notes = append(f.Notes, p.Say("noPlough"))
	} else {
		f.Notes = append(f.Notes, p.Say("stop"))
	}
	if d.Open+d.Guessed+d.Missing > 0 {
		f.Notes = append(f.Notes, p.Say("depthOpen", "open", itoa(d.Open), "guessed", itoa(d.Guessed), "missing",
			itoa(d.Missing)))
	}
	f.Head = []string{"", p.Say("number"), p.Say("shallowest"), p.Say("median"), p.Say("deepest"), p.Say("belowPlough")}
	for _, g := range d.Groups {
		below := "–"
		if g.Known > 0 {
			below = fmt.Sprintf("%d / %d", g.Below, g.Known)
		}
		f.Rows = append(f.Rows, []string{p.named(g.Material), itoa(len(g.Depths)), p.length(g.Lowest), p.length(g.Median),
			p.length(g.Deepest), below})
	}
	return f
}

// BandFigures are the depths of a page to show, each material with its plough lines.
func (p *page) BandFigures() (out []figure) {
	step := bandStep(p.Unit)
	var lines []int
	notes := []string{}
	for _, l := range p.Depth.Plough {
		lines = append(lines, int(l.Depth/step+0.5))
		notes = append(notes, p.Say("ploughLine")+": "+p.length(l.Depth))
	}
	for i, b := range p.Bands {
		if i == 0 || b.Material != p.Bands[i-1].Material {
			out = append(out, figure{ID: "bands-" + itoa(len(out)+1), Title: p.named(b.Material), Notes: notes,
				Head: []string{p.Say("depthWord"), p.Say("finds")}})
		}
		f := &out[len(out)-1]
		name := "≥ " + p.length(b.From)
		if b.To > 0 {
			name = p.shortLength(b.From) + "–" + p.length(b.To)
		}
		f.Rows = append(f.Rows, []string{name, itoa(b.Finds)})
		f.bars = append(f.bars, Count{Name: name, Finds: b.Finds})
	}
	for i := range out {
		out[i].Charts = append(out[i].Charts, p.countBars(out[i].ID, out[i].Title, out[i].bars, lines...))
	}
	return out
}

// TrustFigure is how far detectors were out, on a page to show.
func (p *page) TrustFigure() *figure {
	if len(p.Trust) == 0 {
		return nil
	}
	f := &figure{ID: "trust", Title: p.Say("guessTitle"), Head: []string{"", p.Say("pairs"), p.Say("difference"),
		p.Say("spread"), p.Say("surelyDeeper")}}
	for _, t := range p.Trust {
		f.Rows = append(f.Rows, []string{cmp.Or(t.Detector, p.Say("detectorUnknown")), itoa(t.Pairs), p.signed(t.Mean),
			p.length(t.Spread), itoa(int(math.Round(100*t.Deeper))) + " %"})
		if t.Pairs < fewPairs {
			f.Notes = []string{p.Say("few", "n", itoa(t.Pairs))}
		}
	}
	return f
}

// GuessFigures are the detectors.
func (p *page) GuessFigures() (out []figure) {
	for i, g := range p.Guesses {
		f := figure{ID: "guess-figure-" + itoa(i+1), Title: p.detector(g), Notes: []string{p.guessWords(g)},
			Charts: []template.HTML{p.guessPlot("guess-"+itoa(i+1), g)},
			Head: []string{"", p.Say("pairs"), p.Say("difference"), p.Say("spread"), p.Say("surelyDeeper"),
				p.Say("cannotTell"), p.Say("surelyShallower")}}
		if g.Few {
			f.Notes = append(f.Notes, p.Say("few", "n", itoa(g.Pairs)))
		}
		f.Rows = append(f.Rows, p.agreed(p.Say("all"), g.Agreement))
		for _, list := range [][]Agree{g.ByMetal, g.BySize} {
			if len(list) == 1 && list[0].Name == "" {
				continue
			}
			for _, a := range list {
				f.Rows = append(f.Rows, p.agreed(p.named(a.Name), a.Agreement))
			}
		}
		out = append(out, f)
	}
	return out
}

func (p *page) agreed(name string, a Agreement) []string {
	spread := "–"
	if a.Pairs > 1 {
		spread = p.length(a.Spread)
	}
	return []string{name, itoa(a.Pairs), p.signed(a.Mean), spread, itoa(a.Deeper), itoa(a.Same), itoa(a.Shallower)}
}

// guessWords says what the pairs of a detector tell.
func (p *page) guessWords(g Guess) string {
	way := "deeper"
	if g.Mean < 0 {
		way = "shallower"
	}
	return p.Say("guessSay", "n", itoa(g.Pairs), "mean", p.length(math.Abs(g.Mean)), "deeper", p.Say(way),
		"low", p.signed(g.LimitLow), "high", p.signed(g.LimitHigh), "more", itoa(g.Deeper))
}

func (p *page) detector(g Guess) string {
	name := cmp.Or(g.Detector, p.Say("detectorUnknown"))
	if g.Programme != "" {
		name += ", " + g.Programme
	}
	return name
}

// panel is the plan of one field.
type panel struct {
	Name    string
	Drawing template.HTML
}

// Panels are the plans of the fields.
func (p *page) Panels() (out []panel) {
	for _, one := range p.plans {
		if drawing := one.SVG(p.Language); drawing != "" {
			out = append(out, panel{p.named(one.field), drawing})
		}
	}
	return out
}

// Rings reports whether a plan has a ring.
func (p *page) Rings() bool {
	return slices.ContainsFunc(p.plans, func(one plan) bool { return ringed(one.Plan) })
}

// openKind is a kind of what is open, with the first of it.
type openKind struct {
	Title string
	Note  string
	List  []string
	More  string
}

const mostOpen = 20

// OpenKinds are the things that wait, by kind.
func (p *page) OpenKinds() (out []openKind) {
	for _, kind := range []string{"due", "lent", "unidentified"} {
		k := openKind{Title: p.Say(kind)}
		if kind == "due" {
			k.Note = p.Say("dueMore")
		}
		n := 0
		for _, o := range p.Open {
			if o.Kind != kind {
				continue
			}
			if n++; n <= mostOpen {
				k.List = append(k.List, p.openWords(o))
			}
		}
		if n > mostOpen {
			k.More = p.Say("more", "n", itoa(n-mostOpen))
		}
		if n > 0 {
			out = append(out, k)
		}
	}
	return out
}

func (p *page) openWords(o Open) string {
	parts := []string{}
	for i, s := range []string{o.Find, o.Name, o.Text, o.Day} {
		if s != "" && (i == 0 || s != o.Find) {
			parts = append(parts, s)
		}
	}
	if o.Past {
		parts = append(parts, p.Say("past"))
	}
	return strings.Join(parts, ", ")
}

// Made says with what and when the page was made.
func (p *page) Made() string { return p.Say("made", "tool", cmp.Or(p.Tool, "Findslip"), "day", p.day) }

// named is a name, or that none was said; what is shown to others may have left it out.
func (p *page) named(name string) string {
	if exact(share.Audience(p.Audience)) {
		return cmp.Or(name, p.Say("notSaid"))
	}
	return cmp.Or(name, p.Say("notTold"))
}

// length puts a length of cm in the unit of the logs: whole centimetres with one place, inches to a half.
func (p *page) length(cm float64) string { return p.shortLength(cm) + " " + p.Unit }

func (p *page) shortLength(cm float64) string {
	if p.Unit == "in" {
		cm /= 2.54
	}
	return p.words.comma(plain(math.Round(cm*10) / 10))
}

func (p *page) signed(cm float64) string {
	text := p.length(math.Abs(cm))
	switch {
	case cm < 0 && !strings.HasPrefix(text, "0 "):
		return "−" + text
	case cm > 0 && !strings.HasPrefix(text, "0 "):
		return "+" + text
	}
	return text
}

// plain writes a number without needless zeros.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

//go:embed words.json
var wordsText []byte

// allWords are the words of the page by key, one for each of render.Languages.
var allWords = sync.OnceValue(func() map[string][]string {
	var out map[string][]string
	_ = json.Unmarshal(wordsText, &out) // a test reads it
	return out
})

// words speaks one language.
type words int

func wordsOf(language string) words {
	return words(max(slices.Index(render.Languages(), language), 0))
}

// say fills a text; pairs are names and values. A bar parts what is said of one, by n, from what is said of several.
func (w words) say(key string, pairs ...string) string {
	list := allWords()[key]
	if len(list) <= int(w) {
		return key
	}
	text := list[w]
	if one, more, parted := strings.Cut(text, "|"); parted {
		text = more
		if at := slices.Index(pairs, "n"); at >= 0 && at+1 < len(pairs) && pairs[at+1] == "1" {
			text = one
		}
	}
	for i := 0; i+1 < len(pairs); i += 2 {
		text = strings.ReplaceAll(text, "{"+pairs[i]+"}", pairs[i+1])
	}
	return text
}

// comma writes a decimal as the language does.
func (w words) comma(number string) string {
	if w == 0 {
		return number
	}
	return strings.Replace(number, ".", ",", 1)
}
