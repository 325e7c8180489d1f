package render

import (
	"bufio"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/notice"
)

//go:embed page.html.tmpl
var pageText string

// The page is parsed when the first is written. It hangs on no variable with a function, so a program
// that writes no page does not carry the packages for templates.
var (
	pageOnce sync.Once
	pageRead *template.Template
)

func page() *template.Template {
	pageOnce.Do(func() {
		pageRead = template.Must(template.New("page").Funcs(template.FuncMap{
			"clean": Clean, "plural": plural, "severity": severityWord, "mark": severityMark, "anchor": anchor, "look": Look, "place": placeWords, "find": findWords,
			"standing": dueStanding, "duesource": dueSource, "duenote": func() string { return DeadlineNote }, "words": func(list ...string) []string { return list },
		}).Parse(pageText))
	})
	return pageRead
}

// HTML writes a page in one file: no network, readable on a telephone, printable, with filters by
// severity and by find. It holds no position and no name unless the document has a plan or a table.
func HTML(w io.Writer, d Document) error {
	d.sort()
	out := bufio.NewWriterSize(w, 1<<16)
	if err := page().Execute(out, pageOf(d)); err != nil {
		return err
	}
	return out.Flush()
}

// pageData is what the page shows.
type pageData struct {
	Document
	Cautions  []*group
	Finds     []*pageFind
	Rows      []pageRow
	Named     bool    // the rows say more than numbers
	Columns   [4]bool // which of what, material, period and years any row has
	Kinds     []*notice.Kind
	Errors    int
	Warnings  int
	Info      int
	CautionsN int
	Unchecked []jsonUnknown
	Drawing   template.HTML
	Files     []string
	Change    *pageChange
	Due       []*dueGroup
	sections  map[[2]string]*pageFind // by file and find
}

// Section returns the id of the section of a find, or nothing where it has none.
func (p pageData) Section(file, find string) string {
	if f := p.sections[[2]string{file, find}]; f != nil {
		return f.ID
	}
	return ""
}

// pageFind is one find, or the report itself, with its notices.
type pageFind struct {
	ID      string // of its section in the page
	RowID   string // of its row in the table; empty for the report
	Label   string // number or id; empty: the report
	File    string // where the page is about several
	Counts  [4]int // cautions, errors, warnings, information
	Notices []pageNotice
}

type pageNotice struct {
	*notice.Notice
	Change string
}

// pageRow is one find in the table.
type pageRow struct {
	Row
	RowID string
	At    *pageFind // nil: nothing was said of it
}

// Cells returns what a row says beside the number.
func (r Row) Cells() [4]string { return [4]string{r.Name, r.Material, r.Period, r.Dated} }

type pageChange struct {
	Name                  string
	New, Unchanged, GoneN int
	Gone                  []*group
}

func pageOf(d Document) pageData {
	changes := d.since()
	p := pageData{Document: d, Kinds: kindsOf(d, nil), Errors: d.Notices.Count(notice.Error), Warnings: d.Notices.Count(notice.Warning),
		Info: d.Notices.Count(notice.Info), CautionsN: d.Notices.Cautions(), Drawing: d.Plan.svg(true), Files: filesOf(d.Notices), Named: len(d.Table) > 0, Due: foldDue(d.Deadlines)}
	taken := map[string]int{}
	id := func(kind, label string) string {
		name := anchor(kind, label)
		if taken[name]++; taken[name] > 1 {
			return fmt.Sprintf("%s_%d", name, taken[name])
		}
		return name
	}
	index := map[[2]string]*pageFind{}
	p.sections = index
	for i := range d.Notices {
		n := &d.Notices[i]
		key := [2]string{n.File, n.Find}
		f := index[key]
		if f == nil {
			f = &pageFind{ID: id("find", n.Find), Label: n.Find}
			if len(p.Files) > 1 {
				f.File = n.File
			}
			index[key] = f
			p.Finds = append(p.Finds, f)
		}
		f.Notices = append(f.Notices, pageNotice{n, changes.word(i)})
		f.Counts[slices.Index(severityWords, severityWord(n.Kind))]++
	}
	for _, f := range p.Finds {
		slices.SortStableFunc(f.Notices, func(a, b pageNotice) int { return byGravity(a.Notice, b.Notice) })
	}
	p.rows(d.Table, index, id)
	for _, g := range fold(d.Notices, nil) {
		if g.first.Kind.Caution {
			p.Cautions = append(p.Cautions, g)
		}
	}
	for _, code := range sortedCodes(d.NotChecked) {
		p.Unchecked = append(p.Unchecked, jsonUnknown{code, d.NotChecked[code]})
	}
	if changes != nil {
		p.Change = &pageChange{Name: d.Baseline.Name, New: changes.newly, Unchanged: changes.staying, GoneN: len(changes.gone), Gone: fold(changes.gone, nil)}
	}
	return p
}

// rows makes the table of finds: those of the document, else those that notices are about.
func (p *pageData) rows(table []Row, index map[[2]string]*pageFind, id func(kind, label string) string) {
	add := func(r Row, at *pageFind) {
		row := pageRow{Row: r, RowID: id("row", r.Find), At: at}
		if at != nil {
			at.RowID = row.RowID
		}
		p.Rows = append(p.Rows, row)
		for i, text := range row.Cells() {
			p.Columns[i] = p.Columns[i] || text != ""
		}
	}
	for _, r := range table {
		at := index[[2]string{r.File, r.Find}]
		if at != nil && at.RowID != "" {
			at = nil // a second find of one number: its notices stand at the first
		}
		add(r, at)
	}
	for _, f := range p.Finds {
		if f.Label != "" && f.RowID == "" {
			add(Row{File: f.File, Find: f.Label}, f)
		}
	}
}

// graver tells whether a stands before b: cautions, then errors, warnings, info.
func graver(a, b *notice.Notice) bool {
	if a.Kind.Danger() != b.Kind.Danger() {
		return a.Kind.Danger()
	}
	if a.Kind.Caution != b.Kind.Caution {
		return a.Kind.Caution
	}
	return a.Kind.Severity < b.Kind.Severity
}

func severityWord(k *notice.Kind) string {
	if k.Caution {
		return "caution"
	}
	return k.Severity.String()
}

var severityWords = []string{"caution", "error", "warning", "info"}

// severityMark is a shape beside the word, so that nothing hangs on colour.
func severityMark(k *notice.Kind) string {
	return map[string]string{"caution": "◆", "error": "●", "warning": "▲", "info": "○"}[severityWord(k)]
}

// anchor makes the name of a place in the page of the label of a find.
func anchor(kind, label string) string {
	return kind + "-" + strings.Map(func(r rune) rune {
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

// Few returns the first places of the group, and More how many are left.
func (g *group) Few() []*notice.Notice { return g.places[:min(len(g.places), fewPlaces)] }

// More returns how many places Few leaves out; each stands at its find all the same.
func (g *group) More() int { return max(0, len(g.places)-fewPlaces) }

// First returns the first deadline of the group.
func (g *dueGroup) First() *notice.Deadline { return g.first }

// Few returns the first deadlines of the group, and More how many are left.
func (g *dueGroup) Few() []*notice.Deadline { return g.finds[:min(len(g.finds), fewPlaces)] }

// More returns how many finds Few leaves out.
func (g *dueGroup) More() int { return max(0, len(g.finds)-fewPlaces) }

// Class is the class of the row in the page.
func (g *dueGroup) Class() string { return string(g.first.Status) }

// fewPlaces is how many places of one caution are told at the head of the page.
const fewPlaces = 50

// byGravity puts cautions first, then errors, warnings, information.
func byGravity(a, b *notice.Notice) int {
	switch {
	case graver(a, b):
		return -1
	case graver(b, a):
		return 1
	}
	return 0
}
