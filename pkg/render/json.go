package render

import (
	"bufio"
	"bytes"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
)

type jsonReport struct {
	NoticesVersion string         `json:"noticesVersion"`
	Tool           string         `json:"tool"`
	AsOf           string         `json:"asOf,omitzero"`
	Lexicon        []lexicon.Of   `json:"lexicon"`
	Level          string         `json:"level,omitzero"`
	LevelsMet      []string       `json:"levelsMet"`
	Receivers      []jsonReceiver `json:"receivers,omitzero"`
	Summary        jsonSummary    `json:"summary"`
	NotChecked     []jsonUnknown  `json:"notChecked,omitzero"`
	Settings       []Setting      `json:"settings,omitzero"`
	Truncated      bool           `json:"truncated"`
	Verdict        jsonVerdict    `json:"verdict"`
	Groups         []jsonGroup    `json:"groups"`
	Baseline       *jsonBaseline  `json:"baseline,omitzero"`
	Deadlines      []jsonDeadline `json:"deadlines,omitzero"`
	Accepted       []jsonNotice   `json:"accepted,omitzero"`
}

// jsonVerdict is what a person reads first, in one language.
type jsonVerdict struct {
	Language   string          `json:"language"`
	Text       string          `json:"text"`
	Jobs       int             `json:"jobs"` // groups of cautions, errors and warnings
	NotChecked []jsonUnchecked `json:"notChecked,omitzero"`
	GoodFor    string          `json:"goodFor,omitzero"` // the highest level that every find meets
	Next       string          `json:"next,omitzero"`
	Lacks      []string        `json:"lacks,omitzero"`
	Receivers  []jsonReception `json:"receivers,omitzero"` // the nearest first
}

// jsonReception is what the check came to for a receiver, in words.
type jsonReception struct {
	Text  string   `json:"text"`
	Todo  []string `json:"todo,omitzero"`
	Wish  []string `json:"wishes,omitzero"`
	Never []string `json:"never,omitzero"`
	More  []string `json:"more,omitzero"`
	Asks  []string `json:"questions,omitzero"`
	Told  []string `json:"answers,omitzero"`
	Vows  []string `json:"promises,omitzero"`
	Notes []string `json:"notes,omitzero"`
}

// jsonReceiver is the same in figures.
type jsonReceiver struct {
	Profile string    `json:"profile"`
	Version string    `json:"version"`
	Finds   int       `json:"finds"`
	Covered int       `json:"covered"`
	Good    int       `json:"good"`
	Untold  int       `json:"untold"`
	Outside []string  `json:"outside,omitzero"`
	Doubts  []string  `json:"doubtful,omitzero"` // of which it cannot be told whether they lie outside
	Asks    []jsonAsk `json:"asks"`
}

type jsonAsk struct {
	Name     string   `json:"name"`
	Strength string   `json:"strength"`
	From     string   `json:"from,omitzero"`
	Asked    int      `json:"asked"`
	Lacking  int      `json:"lacking"`
	Untold   int      `json:"untold"`
	Waived   int      `json:"waived,omitzero"`
	Finds    []string `json:"finds,omitzero"`
}

// receiversJSON are the receivers that are no levels, in the order in which they were asked for.
func (d *Document) receiversJSON() (out []jsonReceiver) {
	for _, r := range d.Asked {
		if r.Level {
			continue
		}
		one := jsonReceiver{Profile: r.ID, Version: r.Version, Finds: r.Finds, Covered: r.Covered, Good: r.Good,
			Untold: r.Untold, Outside: r.Outside, Doubts: r.Doubts.Doubtful, Asks: []jsonAsk{}}
		for _, a := range r.Asks {
			one.Asks = append(one.Asks, jsonAsk{a.Name, a.Strength, a.From, a.Asked, a.Lacking, a.Untold, a.Waived, a.Finds})
		}
		out = append(out, one)
	}
	return out
}

type jsonUnchecked struct {
	What  string   `json:"what"`
	Allow string   `json:"allow"`
	Codes []string `json:"codes"`
}

// jsonGroup is one thing that was said, with its exact count.
type jsonGroup struct {
	Code     string        `json:"code"`
	Severity string        `json:"severity"`
	Caution  bool          `json:"caution,omitzero"`
	File     string        `json:"file,omitzero"`
	Field    string        `json:"field,omitzero"`
	Say      string        `json:"say"`
	Do       string        `json:"do,omitzero"`
	Count    int           `json:"count"`
	New      *int          `json:"new,omitzero"` // where there is a baseline
	Examples []jsonExample `json:"examples"`
	Values   []jsonValue   `json:"values,omitzero"`
}

type jsonExample struct {
	Pointer string `json:"pointer,omitzero"`
	Sheet   string `json:"sheet,omitzero"`
	Cell    string `json:"cell,omitzero"`
	Row     int    `json:"row,omitzero"`
	Line    int    `json:"line,omitzero"`
	Find    string `json:"find,omitzero"`
	Written string `json:"written,omitzero"`
}

type jsonValue struct {
	Text  string `json:"text"`
	Count int    `json:"count"`
}

type jsonSummary struct {
	Finds      int `json:"finds"`
	Errors     int `json:"errors"`
	Warnings   int `json:"warnings"`
	Info       int `json:"info"`
	Read       int `json:"read"`
	Cautions   int `json:"cautions"`
	Dangers    int `json:"dangers"`
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
	Grade     string   `json:"grade,omitzero"`
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
	Written   string   `json:"written,omitzero"`
	Reason    string   `json:"reason,omitzero"`
	On        string   `json:"on,omitzero"`     // the day it was accepted
	Change    string   `json:"change,omitzero"` // new or unchanged, where there is a baseline
}

// head is the report without its notices.
func (d *Document) head(c *change) jsonReport {
	v := d.Verdict(d.Language)
	r := jsonReport{Deadlines: deadlinesJSON(d.Deadlines), Settings: d.Settings, NoticesVersion: noticesVersion,
		Tool: d.Tool, AsOf: d.AsOf, Lexicon: lexicon.Versions(),
		Level: d.Level, LevelsMet: d.LevelsMet(), Receivers: d.receiversJSON(), Truncated: d.Truncated, Verdict: v.json(),
		Groups: []jsonGroup{},
		Summary: jsonSummary{Finds: d.Finds, Errors: d.Count(notice.Error), Warnings: d.Count(notice.Warning),
			Info: d.Count(notice.Info) - d.CountIf((*notice.Kind).Reading), Read: d.CountIf((*notice.Kind).Reading),
			Cautions: d.Cautions(), Dangers: d.groups().Count((*notice.Kind).Danger), NotChecked: d.NotCheckedTotal()}}
	for _, code := range slices.Sorted(maps.Keys(d.NotChecked)) {
		r.NotChecked = append(r.NotChecked, jsonUnknown{code, d.NotChecked[code]})
	}
	for _, g := range d.groups().List() {
		r.Groups = append(r.Groups, v.speech.json(g, c != nil))
	}
	if c != nil {
		r.Baseline = &jsonBaseline{File: d.Baseline.Name, AsOf: d.Baseline.AsOf, New: c.newly, Unchanged: c.staying,
			Gone: []jsonNotice{}}
		for i := range c.gone {
			r.Baseline.Gone = append(r.Baseline.Gone, noticeJSON(&c.gone[i]))
		}
	}
	for i := range d.Accepted {
		r.Accepted = append(r.Accepted, noticeJSON(&d.Accepted[i]))
	}
	return r
}

func (v *Verdict) json() jsonVerdict {
	out := jsonVerdict{Language: v.speech.Language, Text: strings.Join(v.Lines, "\n"),
		Jobs:    len(v.Safety) + len(v.Law) + len(v.Wrong) + len(v.Look),
		GoodFor: v.Level, Next: v.Next, Lacks: v.Lacks}
	for _, u := range v.Unchecked {
		out.NotChecked = append(out.NotChecked, jsonUnchecked(u))
	}
	for _, r := range v.Receivers {
		out.Receivers = append(out.Receivers, jsonReception{r.Verdict, r.Todo, r.Wishes, r.Never, r.More, r.Asks, r.Told,
			r.Promise, r.Notes})
	}
	return out
}

func (s *speech) json(g *notice.Group, baseline bool) jsonGroup {
	say, do := s.say(g)
	out := jsonGroup{Code: g.Kind.Code, Severity: g.Kind.Severity.String(), Caution: g.Kind.Caution, File: g.File,
		Field: g.Field,
		Say:   say, Do: do, Count: g.Count}
	if baseline {
		out.New = &g.New
	}
	for i := range g.Examples {
		n := &g.Examples[i]
		out.Examples = append(out.Examples, jsonExample{n.Pointer, n.Sheet, n.Cell, n.Row, n.Line, n.Find, n.Written})
	}
	for _, value := range g.Values[:min(len(g.Values), notice.MostExamples)] {
		out.Values = append(out.Values, jsonValue(value))
	}
	return out
}

func noticeJSON(n *notice.Notice) jsonNotice {
	return jsonNotice{Code: n.Kind.Code, Severity: n.Kind.Severity.String(), Caution: n.Kind.Caution, Title: n.Kind.Title,
		Message: n.Message, Help: n.HelpText(), Proposals: n.Proposals, Grade: string(n.Grade()), Spec: n.Kind.Spec,
		File: n.File, Pointer: n.Pointer,
		Sheet: n.Sheet, Cell: n.Cell, Row: n.Row, Column: n.Column, Heading: n.Heading, Line: n.Line, Find: n.Find,
		Written: n.Written,
		Reason:  n.Accepted, On: n.AcceptedOn}
}

// JSON writes the notices report of SPEC.md section 6.4, whose schema is published as notices. The notices are
// its last member and pass one at a time.
func JSON(w io.Writer, d Document) error {
	d.sort()
	c, err := d.since()
	if err != nil {
		return err
	}
	return writeLists(w, d.head(c), "\n}", 1, []jsonList{
		{"read", func(emit func(any) error) error { return d.eachJSON(nil, emit, (*notice.Kind).Reading) }},
		{"notices", func(emit func(any) error) error {
			return d.eachJSON(c, emit, func(k *notice.Kind) bool {
				return !k.Reading()
			})
		}}})
}

// jsonList is a list of which the items pass one at a time: all the notices that there may be are more than memory
// should hold.
type jsonList struct {
	name string
	each func(emit func(any) error) error
}

// writeLists writes a value as indented JSON, with lists as the last members of the innermost of its objects: the
// text of the value ends with tail, before which the lists come, so many objects and lists deep.
func writeLists(w io.Writer, value any, tail string, depth int, lists []jsonList) error {
	head, err := json.Marshal(value, jsontext.WithIndent("  "), jsontext.AllowInvalidUTF8(true))
	if err != nil {
		return err
	}
	indent := strings.Repeat("  ", depth)
	out := bufio.NewWriterSize(w, 1<<16)
	out.Write(CleanJSON(bytes.TrimSuffix(head, []byte(tail))))
	for _, list := range lists {
		out.WriteString(",\n" + indent + `"` + list.name + `": [`)
		before := ""
		err = list.each(func(item any) error {
			text, err := json.Marshal(item, jsontext.WithIndentPrefix(indent+"  "), jsontext.WithIndent("  "),
				jsontext.AllowInvalidUTF8(true))
			if err != nil {
				return err
			}
			out.WriteString(before + "\n" + indent + "  ")
			before = ","
			_, err = out.Write(CleanJSON(text))
			return err
		})
		if err != nil {
			return err
		}
		if before != "" {
			out.WriteString("\n" + indent)
		}
		out.WriteString("]")
	}
	out.WriteString(tail + "\n")
	return out.Flush()
}

// JSONL writes the same as JSON Lines: the report without its notices, then a notice a line.
func JSONL(w io.Writer, d Document) error {
	d.sort()
	c, err := d.since()
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(w, 1<<16)
	line := func(v any) error {
		text, err := json.Marshal(v, jsontext.AllowInvalidUTF8(true))
		if err != nil {
			return err
		}
		_, err = out.Write(append(CleanJSON(text), '\n'))
		return err
	}
	if err := line(d.head(c)); err != nil {
		return err
	}
	if err := d.eachJSON(c, line, func(*notice.Kind) bool { return true }); err != nil {
		return err
	}
	return out.Flush()
}

// eachJSON passes on each notice of some kinds as JSON has it.
func (d *Document) eachJSON(c *change, emit func(any) error, in func(*notice.Kind) bool) error {
	word := c.replay()
	for n, err := range d.Each() {
		if err != nil {
			return err
		}
		if !in(n.Kind) {
			continue
		}
		out := noticeJSON(n)
		out.Change = word(n)
		if err := emit(out); err != nil {
			return err
		}
	}
	return nil
}
