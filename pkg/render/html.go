package render

import (
	_ "embed"
	"html/template"
	"io"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

//go:embed page.html.tmpl
var pageText string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"clean": Clean, "plural": plural, "severity": severityWord, "mark": severityMark, "class": severityClass, "anchor": anchor, "look": Look,
}).Parse(pageText))

// HTML writes a page in one file: no network, readable on a telephone, printable, with filters by
// severity and by find. It holds no position unless the document has a plan.
func HTML(w io.Writer, d Document) error {
	d.Notices.Sort()
	return page.Execute(w, pageOf(d))
}

// pageData is what the page shows.
type pageData struct {
	Document
	Cautions  []*group
	Finds     []pageFind
	Kinds     []*notice.Kind
	Errors    int
	Warnings  int
	Info      int
	CautionsN int
	Unchecked []jsonUnknown
	Plan      template.HTML
	Files     []string
}

// pageFind is one find, or the report itself, with its notices.
type pageFind struct {
	Label   string // number or id; empty: the report
	Place   string // row or line, where there is one
	Notices []*notice.Notice
	Worst   *notice.Notice
}

func pageOf(d Document) pageData {
	p := pageData{Document: d, Kinds: kindsOf(d), Errors: d.Notices.Count(notice.Error), Warnings: d.Notices.Count(notice.Warning),
		Info: d.Notices.Count(notice.Info), CautionsN: d.Notices.Cautions(), Plan: d.Plan.svg()}
	index := map[[2]string]int{}
	for i := range d.Notices {
		n := &d.Notices[i]
		key := [2]string{n.File, n.Find}
		at, ok := index[key]
		if !ok {
			at = len(p.Finds)
			index[key] = at
			p.Finds = append(p.Finds, pageFind{Label: n.Find, Worst: n})
			if !slices.Contains(p.Files, n.File) && n.File != "" {
				p.Files = append(p.Files, n.File)
			}
		}
		f := &p.Finds[at]
		f.Notices = append(f.Notices, n)
		if graver(n, f.Worst) {
			f.Worst = n
		}
	}
	for i := range p.Finds {
		slices.SortStableFunc(p.Finds[i].Notices, func(a, b *notice.Notice) int {
			switch {
			case graver(a, b):
				return -1
			case graver(b, a):
				return 1
			}
			return 0
		})
	}
	for _, g := range fold(d.Notices) {
		if g.first.Kind.Caution {
			p.Cautions = append(p.Cautions, g)
		}
	}
	for _, code := range sortedCodes(d.NotChecked) {
		p.Unchecked = append(p.Unchecked, jsonUnknown{code, d.NotChecked[code]})
	}
	return p
}

// graver tells whether a stands before b: cautions, then errors, warnings, info.
func graver(a, b *notice.Notice) bool {
	if a.Kind.Caution != b.Kind.Caution {
		return a.Kind.Caution
	}
	return a.Kind.Severity < b.Kind.Severity
}

func sortedCodes(m map[string]int) []string {
	out := make([]string, 0, len(m))
	for code := range m {
		out = append(out, code)
	}
	slices.Sort(out)
	return out
}

func severityWord(k *notice.Kind) string {
	if k.Caution {
		return "caution"
	}
	return k.Severity.String()
}

func severityClass(k *notice.Kind) string { return severityWord(k) }

// severityMark is a shape beside the word, so that nothing hangs on colour.
func severityMark(k *notice.Kind) string {
	return map[string]string{"caution": "◆", "error": "●", "warning": "▲", "info": "○"}[severityWord(k)]
}

// anchor makes the name of a place in the page of the label of a find.
func anchor(label string) string {
	return "find-" + strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, label)
}

// First returns the first notice of the group.
func (g *group) First() *notice.Notice { return g.first }

// Places returns the notices of the group.
func (g *group) Places() []*notice.Notice { return g.places }
