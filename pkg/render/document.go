// Package render shows notices to people and programs: as text for a terminal, as JSON for
// programs. It knows nothing of finds; it shows what it is given, in one order, with the same
// bytes on every run.
//
//	err := render.Text(os.Stdout, render.Document{Notices: list}, render.TextOptions{})
//
// This package is unstable: it may change between any two versions.
package render

import (
	"io"
	"maps"
	"slices"

	"github.com/findslip/findslip/pkg/notice"
)

// noticesVersion is the version of the notices report that JSON writes.
const noticesVersion = "1.0"

// A Document is the outcome of one check.
type Document struct {
	Tool       string            // name and version of the program
	AsOf       string            // the day that counted as today, ISO 8601
	Level      string            // bag, log or full; empty if none was asked
	Finds      int               // number of finds seen
	Met        map[string]int    // level to the number of finds that meet it
	Missing    []Lack            // what is missing for the level asked, commonest first
	NotChecked map[string]int    // rule code to the number of times it could not be applied
	Titles     map[string]string // title of each code in NotChecked, for people; may be nil
	Accepted   notice.List       // silenced with a reason, shown all the same
	Notices    notice.List       // sorted by the renderers
	Deadlines  notice.Deadlines  // time limits to report; sorted by the renderers
	Baseline   *Baseline         // an earlier report to compare with; nil: none
	Table      []Row             // finds with names and dates, only for those who may see places; empty: numbers alone
	Settings   []Setting         // figures of rules that were changed from their defaults
	Plan       *Plan             // a drawing of the finds, only for those who may see places; nil: none
}

// Row is one find in the table of a page that may show more than numbers.
type Row struct {
	File, Find string // as in the notices
	Name       string // what the finder calls it
	Material   string
	Period     string
	Dated      string // years, as EDTF
}

// Setting is a figure of the rules that was changed.
type Setting struct {
	Name    string `json:"name"`
	Value   string `json:"value"`
	Default string `json:"default"`
}

// Lack is a member that finds lack for the level asked.
type Lack struct {
	Pointer string
	Title   string // in words; empty: those of the pointer
	Finds   int
}

// Words names what is missing.
func (l Lack) Words() string {
	if l.Title != "" {
		return Clean(l.Title)
	}
	return member(l.Pointer)
}

// sort gives notices and deadlines the one order in which they are shown.
func (d *Document) sort() {
	d.Notices.Sort()
	d.Deadlines.Sort()
}

// LevelsMet returns the levels that every find meets, least first.
func (d *Document) LevelsMet() []string {
	out := []string{}
	for _, l := range []string{"bag", "log", "full"} {
		if d.Finds > 0 && d.Met[l] == d.Finds {
			out = append(out, l)
		}
	}
	return out
}

// NotCheckedTotal returns how many times a rule could not be applied.
func (d *Document) NotCheckedTotal() int {
	n := 0
	for _, v := range d.NotChecked {
		n += v
	}
	return n
}

type jsonReport struct {
	NoticesVersion string         `json:"noticesVersion"`
	Tool           string         `json:"tool"`
	AsOf           string         `json:"asOf,omitzero"`
	Level          string         `json:"level,omitzero"`
	LevelsMet      []string       `json:"levelsMet"`
	Summary        jsonSummary    `json:"summary"`
	NotChecked     []jsonUnknown  `json:"notChecked,omitzero"`
	Settings       []Setting      `json:"settings,omitzero"`
	Truncated      bool           `json:"truncated"`
	Baseline       *jsonBaseline  `json:"baseline,omitzero"`
	Deadlines      []jsonDeadline `json:"deadlines,omitzero"`
	Accepted       []jsonNotice   `json:"accepted,omitzero"`
	Notices        []jsonNotice   `json:"notices"`
}

type jsonSummary struct {
	Finds      int `json:"finds"`
	Errors     int `json:"errors"`
	Warnings   int `json:"warnings"`
	Info       int `json:"info"`
	Cautions   int `json:"cautions"`
	NotChecked int `json:"notChecked"`
}

type jsonUnknown struct {
	Code  string `json:"code"`
	Times int    `json:"times"`
}

// jsonBaseline tells what an earlier report had.
type jsonBaseline struct {
	File      string       `json:"file"`
	AsOf      string       `json:"asOf,omitzero"`
	New       int          `json:"new"`
	Unchanged int          `json:"unchanged"`
	Gone      []jsonNotice `json:"gone"`
}

type jsonNotice struct {
	Code      string   `json:"code"`
	Severity  string   `json:"severity"`
	Caution   bool     `json:"caution,omitzero"`
	Title     string   `json:"title"`
	Message   string   `json:"message"`
	Help      string   `json:"help,omitzero"`
	Proposals []string `json:"proposals,omitzero"`
	Spec      string   `json:"spec,omitzero"`
	File      string   `json:"file,omitzero"`
	Pointer   string   `json:"pointer,omitzero"`
	Sheet     string   `json:"sheet,omitzero"`
	Cell      string   `json:"cell,omitzero"`
	Row       int      `json:"row,omitzero"`
	Column    int      `json:"column,omitzero"`
	Heading   string   `json:"heading,omitzero"`
	Line      int      `json:"line,omitzero"`
	Find      string   `json:"find,omitzero"`
	Reason    string   `json:"reason,omitzero"`
	On        string   `json:"on,omitzero"`     // the day it was accepted
	Change    string   `json:"change,omitzero"` // new or unchanged, where there is a baseline
}

// JSON writes the notices report of SPEC.md section 6.4, whose schema is published as notices.
func JSON(w io.Writer, d Document) error {
	d.sort()
	r := jsonReport{Deadlines: deadlinesJSON(d.Deadlines), Settings: d.Settings, NoticesVersion: noticesVersion, Tool: d.Tool, AsOf: d.AsOf, Level: d.Level, LevelsMet: d.LevelsMet(),
		Summary: jsonSummary{Finds: d.Finds, Errors: d.Notices.Count(notice.Error), Warnings: d.Notices.Count(notice.Warning),
			Info: d.Notices.Count(notice.Info), Cautions: d.Notices.Cautions(), NotChecked: d.NotCheckedTotal()},
		Notices: make([]jsonNotice, 0, len(d.Notices))}
	for _, code := range slices.Sorted(maps.Keys(d.NotChecked)) {
		r.NotChecked = append(r.NotChecked, jsonUnknown{code, d.NotChecked[code]})
	}
	changes := d.since()
	for i := range d.Notices {
		n := noticeJSON(&d.Notices[i])
		n.Change = changes.word(i)
		r.Notices = append(r.Notices, n)
	}
	if changes != nil {
		r.Baseline = &jsonBaseline{File: d.Baseline.Name, AsOf: d.Baseline.AsOf, New: changes.newly, Unchanged: changes.staying, Gone: []jsonNotice{}}
		for i := range changes.gone {
			r.Baseline.Gone = append(r.Baseline.Gone, noticeJSON(&changes.gone[i]))
		}
	}
	for i := range d.Accepted {
		r.Accepted = append(r.Accepted, noticeJSON(&d.Accepted[i]))
	}
	return writeJSON(w, r)
}

func noticeJSON(n *notice.Notice) jsonNotice {
	return jsonNotice{Code: n.Kind.Code, Severity: n.Kind.Severity.String(), Caution: n.Kind.Caution, Title: n.Kind.Title,
		Message: n.Message, Help: n.HelpText(), Proposals: n.Proposals, Spec: n.Kind.Spec, File: n.File, Pointer: n.Pointer,
		Sheet: n.Sheet, Cell: n.Cell, Row: n.Row, Column: n.Column, Heading: n.Heading, Line: n.Line, Find: n.Find, Reason: n.Accepted, On: n.AcceptedOn}
}
