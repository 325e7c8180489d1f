package render

import (
	"bufio"
	"cmp"
	_ "embed"
	"html/template"
	"io"
	"slices"
	"strconv"
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
			"clean": Clean, "look": Look, "sentence": AsSentence, "mark": severityMark, "severity": severityWord,
		}).Parse(pageText))
	})
	return pageRead
}

// HTML writes a page in one file: no network, readable on a telephone, printable. The verdict comes first, then
// the jobs, each with links to its cells in a small copy of the sheet that has the marked cells alone. It holds no
// position and no name unless the document has a plan or a table.
func HTML(w io.Writer, d Document) error {
	d.sort()
	changes, err := d.since()
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 1<<16)
	if err := page().Execute(out, pageOf(&d, changes)); err != nil {
		return err
	}
	return out.Flush()
}

// pageData is what the page shows.
type pageData struct {
	*Document
	*Verdict
	Compared string // with an earlier report
	GoneJobs []Job
	Due      []pageDue
	Grids    []*pageGrid
	Panels   []PlanPanel
	far      int               // finds that no panel shows, for they lie far from the others of their field
	anchors  map[string]bool   // ids of cells and rows of the grids
	rowOf    map[string]string // find by its label alone, for the plan
	rows     map[string]string // find to the id of its row in the table
	v        *Verdict
}

func pageOf(d *Document, changes *change) *pageData {
	v := d.Verdict(d.Language)
	p := &pageData{Document: d, Verdict: v, v: v, rows: map[string]string{}, rowOf: map[string]string{},
		anchors: map[string]bool{}}
	if changes != nil {
		p.Compared = v.since(d, changes)
		p.GoneJobs = v.speech.jobsOf(changes.gone)
	}
	for i, r := range d.Table {
		p.rows[r.File+"\x00"+r.Find] = "find-" + strconv.Itoa(i+1)
		p.rowOf[r.Find] = "find-" + strconv.Itoa(i+1)
	}
	for _, g := range foldDue(d.Deadlines) {
		p.Due = append(p.Due, pageDue{Day: dueDay(g.first), Text: v.speech.due(g, fewPlaces), Source: dueSource(g.first),
			Class: string(g.first.Status)})
	}
	if d.Plan != nil {
		for i, q := range d.Plan.Points {
			d.Plan.Points[i].Row = p.rowOf[q.Label]
		}
	}
	p.Grids = gridsOf(v)
	for _, g := range p.Grids {
		for _, r := range g.Rows {
			p.anchors[r.ID] = r.ID != ""
			for _, c := range r.Cells {
				p.anchors[c.ID] = c.ID != ""
			}
		}
	}
	p.Panels, p.far = d.Plan.panels(v.speech)
	return p
}

// pageDue is a time limit as the page shows it.
type pageDue struct{ Day, Text, Source, Class string }

// fewPlaces is how many finds of one time limit the page tells.
const fewPlaces = 50

// T returns a text of the frame, filled from pairs.
func (p *pageData) T(name string, pairs ...string) string { return p.v.speech.text(name, pairs...) }

// Parts are the lists of a reception.
func (p *pageData) Parts(r Reception) []receptionPart { return p.v.speech.parts(r) }

// Lang is the language of the page.
func (p *pageData) Lang() string { return p.v.speech.Language }

// Title is the title of the page, which says at once whether anything must be done.
func (p *pageData) Title() string { return p.Todo() + " " + p.T("title") }

// Private reports whether the page tells where finds were made.
func (p *pageData) Private() bool { return p.Plan != nil || len(p.Table) > 0 }

// pageJobs are jobs as the page shows them: the first ones open.
type pageJobs struct {
	First, Rest []pageJob
	More        string
}

type pageJob struct {
	Class, Say, Do, Perhaps, Code, New, More string
	Links                                    []pageLink
}

// Told makes jobs ready for the page, with links to the cells that it shows.
func (p *pageData) Told(jobs []Job, class string) (out pageJobs) {
	for i, job := range jobs {
		told := pageJob{Class: class, Say: job.Say, Do: job.Do, Code: job.Kind.Code, Links: p.links(job)}
		if job.Kind.Severity == notice.Warning && class == "info" {
			told.Class = "warning"
		}
		if left := job.Count - len(job.Examples); left > 0 {
			told.More = p.v.speech.many("morePlaces", left)
		}
		if job.New > 0 {
			told.New = p.T("new")
		}
		if job.Count == 1 {
			told.Perhaps = p.v.speech.proposed(&job.Examples[0])
		}
		if i < mostJobs {
			out.First = append(out.First, told)
		} else {
			out.Rest = append(out.Rest, told)
		}
	}
	if len(out.Rest) > 0 {
		out.More = strings.TrimSuffix(p.v.speech.many("moreJobs", len(out.Rest)), ": --all")
	}
	return out
}

// InfoCount counts what is good to know.
func (p *pageData) InfoCount() string {
	n := 0
	for _, job := range p.Info {
		n += job.Count
	}
	text, _, _ := strings.Cut(p.v.speech.many("infoCount", n), " (")
	return text
}

// Caption says what the plan shows and what it does not.
func (p *pageData) Caption() string { return p.Plan.caption(p.v.speech, p.far) }

// AcceptedFew returns the first accepted notices, each in a sentence.
func (p *pageData) AcceptedFew() (out []string) {
	for i := range p.Accepted[:min(len(p.Accepted), fewPlaces)] {
		n := &p.Accepted[i]
		out = append(out, p.v.speech.place(n, naming{files: p.v.naming.files})+": "+AsSentence(Clean(n.Message))+" "+
			Clean(acceptedWords(n)))
	}
	return out
}

// Places counts the places of jobs.
func (p *pageData) Places(jobs []Job) string {
	n := 0
	for _, job := range jobs {
		n += job.Count
	}
	return p.v.speech.many("look", n)
}

// links returns the places of a job, each with the anchor of its cell, row or find in the page.
func (p *pageData) links(job Job) (links []pageLink) {
	for i := range job.Examples {
		n := &job.Examples[i]
		link := pageLink{Place: p.v.speech.place(n, p.v.naming), Written: Clean(shownAt(n)), To: anchor(n)}
		if job.Kind.Danger() && n.Cell != "" && n.Find != "" && !strings.HasPrefix(n.Find, "urn:") {
			link.Place += ", " + p.T("find", "find", Clean(n.Find))
		}
		if !p.anchors[link.To] {
			link.To = p.rows[n.File+"\x00"+n.Find]
		}
		if !slices.Contains(links, link) {
			links = append(links, link)
		}
	}
	return links
}

// RowWords names a row of the sheet.
func (p *pageData) RowWords(row int) string { return p.T("row", "row", strconv.Itoa(row)) }

// RowID is the anchor of a find in the table.
func (p *pageData) RowID(r Row) string { return p.rows[r.File+"\x00"+r.Find] }

// FindName is what the page calls a find.
func (p *pageData) FindName(label string) string {
	if label == "" || strings.HasPrefix(label, "urn:") {
		return p.T("unnamed")
	}
	return Clean(label)
}

type pageLink struct{ Place, Written, To string }

// pageGrid is a sheet of which the rows with marked cells are shown, a slip for each.
type pageGrid struct {
	Name string
	Rows []*pageRow
}

type pageRow struct {
	ID    string
	Row   int
	Find  string
	Class string // of the row where a notice is about all of it
	Marks string
	Cells []pageCell // those that are marked
}

type pageCell struct {
	ID, Class, Mark, Text, Heading, Cell string
	at                                   int
}

// anchor is the id of the cell or the row of a notice in the page; empty where it has none.
func anchor(n *notice.Notice) string {
	if n.Row == 0 {
		return ""
	}
	return "c-" + plainID(baseName(n.File)+"-"+n.Sheet) + "-" + cmp.Or(n.Cell, strconv.Itoa(n.Row))
}

// plainID makes the part of an id of any text.
func plainID(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, text)
}

// gridsOf draws each sheet with the cells that the examples of the jobs stand in.
func gridsOf(v *Verdict) []*pageGrid {
	index := map[[2]string]*pageGrid{}
	var out []*pageGrid
	for _, jobs := range [][]Job{v.Safety, v.Law, v.Wrong, v.Look} {
		for _, job := range jobs {
			for i := range job.Examples {
				n := &job.Examples[i]
				if n.Row == 0 {
					continue
				}
				key := [2]string{n.File, n.Sheet}
				if index[key] == nil {
					index[key] = &pageGrid{Name: gridName(n, v.naming)}
					out = append(out, index[key])
				}
				index[key].mark(n, v.speech)
			}
		}
	}
	for _, g := range out {
		g.lay()
	}
	return out
}

// gridName is what stands above the cells of a sheet.
func gridName(n *notice.Notice, with naming) string {
	if file := baseName(n.File); with.files && n.Sheet != "" && file != "" {
		return file + ", " + n.Sheet
	}
	return cmp.Or(n.Sheet, baseName(n.File))
}

func (g *pageGrid) mark(n *notice.Notice, s *speech) {
	at := slices.IndexFunc(g.Rows, func(r *pageRow) bool { return r.Row == n.Row })
	if at < 0 {
		g.Rows = append(g.Rows, &pageRow{Row: n.Row})
		at = len(g.Rows) - 1
	}
	row := g.Rows[at]
	if n.Find != "" && !strings.HasPrefix(n.Find, "urn:") {
		row.Find = Clean(n.Find)
	}
	if n.Cell == "" {
		row.ID, row.Class = cmp.Or(row.ID, anchor(n)), cmp.Or(row.Class, severityWord(n.Kind))
		row.Marks += severityMark(n.Kind)
		return
	}
	at = slices.IndexFunc(row.Cells, func(c pageCell) bool { return c.at == n.Column })
	if at < 0 { // jobs come gravest first
		row.Cells = append(row.Cells, pageCell{ID: anchor(n), Class: severityWord(n.Kind), Mark: severityMark(n.Kind),
			Heading: Clean(n.Heading), Cell: n.Cell, at: n.Column})
		at = len(row.Cells) - 1
	}
	row.Cells[at].Text = cmp.Or(row.Cells[at].Text, Clean(n.Written), unquoted(n, s))
}

// unquoted stands for what a cell holds where a notice does not quote it: the number of the find, which it bears
// anyhow, and a word for a place or a person, which are not told again; empty: nothing.
func unquoted(n *notice.Notice, s *speech) string {
	find, member, _ := strings.Cut(strings.TrimPrefix(n.Pointer, "/finds/"), "/")
	first, _, _ := strings.Cut(member, "/")
	switch {
	case find == "", member == "":
	case first == "number" && strings.HasPrefix(n.Find, "urn:"):
		return s.text("cellEmpty")
	case first == "number":
		return Clean(n.Find)
	case first == "position" || first == "permission" || first == "place" || first == "finder":
		if n.Kind.Code == "finder-missing" {
			return s.text("cellEmpty")
		}
		return s.text("cellHidden")
	}
	return ""
}

// lay puts rows and cells in the order of the sheet.
func (g *pageGrid) lay() {
	slices.SortFunc(g.Rows, func(a, b *pageRow) int { return a.Row - b.Row })
	for _, r := range g.Rows {
		slices.SortFunc(r.Cells, func(a, b pageCell) int { return a.at - b.at })
	}
}

func severityWord(k *notice.Kind) string {
	if k.Caution {
		return "caution"
	}
	return k.Severity.String()
}

// severityMark is a shape beside the word, so that nothing hangs on colour.
func severityMark(k *notice.Kind) string {
	return map[string]string{"caution": "◆", "error": "●", "warning": "▲", "info": "○"}[severityWord(k)]
}
