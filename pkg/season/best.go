package season

import (
	"cmp"
	"html/template"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// mostBest is how many finds are shown.
const mostBest = 10

// Best is one of the finds to show: those that were named, else those of which most is known.
type Best struct {
	Find     string       `json:"find,omitempty"` // none to show
	Name     string       `json:"name"`
	Class    string       `json:"class,omitempty"`
	Material string       `json:"material,omitempty"`
	Age      string       `json:"age,omitempty"`
	Picture  string       `json:"picture,omitempty"` // name of its file
	Shown    template.URL `json:"-"`
}

func (w *work) best() {
	// What a rule of safety stops at is no exhibit, even if it was asked for.
	list := slices.DeleteFunc(slices.Clone(w.finds), func(f one) bool { return w.options.unsafe[f.ID] })
	if len(w.options.Best) > 0 {
		list = slices.DeleteFunc(list, func(f one) bool { return !slices.Contains(w.options.Best, f.Number) })
		slices.SortStableFunc(list, func(a, b one) int {
			return cmp.Compare(slices.Index(w.options.Best, a.Number), slices.Index(w.options.Best, b.Number))
		})
	} else {
		list = slices.DeleteFunc(list, func(f one) bool { return unidentified(f.Find) })
		slices.SortStableFunc(list, func(a, b one) int { return cmp.Compare(w.known(b.Find), w.known(a.Find)) })
		list = spread(list)
	}
	for _, f := range list[:min(len(list), mostBest)] {
		b := Best{Find: render.Clean(f.Number), Name: render.Clean(f.Name), Class: w.class(f.Find),
			Material: w.material(f.Find)}
		b.Age, _ = w.age(f.Find)
		if f.Dating != nil && f.Dating.Verbatim != "" {
			b.Age = render.Clean(f.Dating.Verbatim)
		}
		for _, m := range f.Media {
			if data := w.options.Pictures[m.File]; data != "" {
				b.Picture, b.Shown = m.File, data
				break
			}
			b.Picture = cmp.Or(b.Picture, m.File)
		}
		b.Name = cmp.Or(b.Name, b.Class, b.Material)
		w.Best = append(w.Best, b)
	}
}

// known counts what is known of a find; a picture that can be shown counts most.
func (w *work) known(f *find.Find) (n int) {
	for _, m := range f.Media {
		n = max(n, 2)
		if w.options.Pictures[m.File] != "" {
			n = 8
		}
	}
	_, age := w.age(f)
	n += b2i(classCode(f) != "") + b2i(len(f.Materials) > 0) + b2i(age < 1e300) + b2i(len(f.Marks) > 0)
	if c := f.Condition; c != nil && c.Completeness != nil && c.Completeness.Code == "complete" {
		n++
	}
	if i := f.Identification; i != nil && i.Certainty == "certain" {
		n++
	}
	return n
}

// spread puts the second find of a class behind the first of the others, so that ten buttons do not fill a page.
func spread(list []one) []one {
	seen := map[string]int{}
	turn := make(map[*find.Find]int, len(list))
	for _, f := range list {
		turn[f.Find] = seen[classCode(f.Find)] / 2
		seen[classCode(f.Find)]++
	}
	slices.SortStableFunc(list, func(a, b one) int { return cmp.Compare(turn[a.Find], turn[b.Find]) })
	return list
}

// unidentified reports whether nobody has said what a find is, or somebody asks.
func unidentified(f *find.Find) bool {
	class := classCode(f)
	return f.Question != "" || class == "unidentified" || class == "unknown" || class == "" && f.Identification == nil &&
		f.Type == ""
}

// open lists what waits for somebody: time limits, things that are away, things that nobody has named.
func (w *work) open() {
	for _, d := range w.options.Due {
		if w.options.Year != "" && !slices.ContainsFunc(w.finds, func(f one) bool { return label(f.Find) == d.Find }) {
			continue
		}
		w.Open = append(w.Open, d)
	}
	for _, f := range w.finds {
		for i := range f.Notified {
			n := &f.Notified[i]
			counted := slices.ContainsFunc(w.options.Due,
				func(d Open) bool { return d.Find == label(f.Find) && d.Day == n.Deadline })
			if pending(n) && !counted {
				w.Open = append(w.Open, Open{Kind: "due", Find: label(f.Find), Name: render.Clean(f.Name), Day: n.Deadline,
					Text: w.label("notification-status", n.Status), Past: n.Deadline != "" && n.Deadline < w.options.Day})
			}
		}
		if d := f.Disposition; d != nil && slices.Contains([]string{"lent-for-identification", "lodged-with-recorder"},
			d.Code) {
			w.Open = append(w.Open, Open{Kind: "lent", Find: label(f.Find), Name: render.Clean(f.Name),
				Text: w.label("disposition", d)})
		}
		if unidentified(f.Find) {
			w.Open = append(w.Open, Open{Kind: "unidentified", Find: label(f.Find), Name: render.Clean(f.Name),
				Text: render.Clean(f.Question)})
		}
	}
	order := []string{"due", "lent", "unidentified"}
	slices.SortStableFunc(w.Open, func(a, b Open) int {
		return cmp.Or(cmp.Compare(slices.Index(order, a.Kind), slices.Index(order, b.Kind)), cmp.Compare(a.Day, b.Day))
	})
}

// pending reports whether a notice to somebody was not given yet.
func pending(n *find.Notified) bool {
	if n.Status == nil || n.Status.Code == "" {
		return n.On == "" && n.Deadline != ""
	}
	return strings.HasPrefix(n.Status.Code, "not-sent") || n.Status.Code == "open"
}

// label puts a term: the label of its code, else its words.
func (w *work) label(list string, t *find.Term) string {
	if t == nil {
		return ""
	}
	if c, ok := vocabulary.Get(list).Concept(t.Code); ok {
		return c.Label(w.Language)
	}
	return render.Clean(t.Text())
}
