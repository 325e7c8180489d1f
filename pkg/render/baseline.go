package render

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/internal/aside"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// A Baseline is an earlier report of notices to compare with: it tells which notices are new, which
// were there before, and which are gone. Notices are the same when code, find, pointer and message
// are the same. Within a find the pointer counts from the find, so that a row put in above makes
// nothing new.
type Baseline struct {
	Name    string // as the caller calls it
	AsOf    string // the day that counted as today then; empty if it does not say
	Notices notice.List
}

// ReadBaseline reads a report as JSON writes it. Members that it does not know are passed over, so
// that reports of later 1.x versions can be read.
//
// Of the limits Side is looked at.
func ReadBaseline(r io.Reader, name string, limits limit.Limits) (*Baseline, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, fmt.Errorf("reading the earlier report %s: %w", name, err)
	}
	b, err := parseBaseline(raw)
	if err != nil {
		return nil, fmt.Errorf("reading the earlier report %s: %w; name a file that check --report json wrote", name, err)
	}
	b.Name = name
	return b, nil
}

func parseBaseline(raw []byte) (*Baseline, error) {
	var head struct {
		Version *string       `json:"noticesVersion"`
		AsOf    string        `json:"asOf"`
		Notices *[]jsonNotice `json:"notices"`
	}
	if err := aside.ReadSome(raw, &head); err != nil {
		return nil, fmt.Errorf("it is not a report of notices in JSON (%w)", err)
	}
	switch {
	case head.Version == nil:
		return nil, errors.New(`it is JSON, but it has no "noticesVersion", as a report of notices has`)
	case !strings.HasPrefix(*head.Version, "1."):
		return nil, fmt.Errorf("it is of version %q, and only 1.x can be read", *head.Version)
	case head.Notices == nil:
		return nil, errors.New(`it has no list "notices"`)
	}
	b := &Baseline{AsOf: head.AsOf}
	kinds := map[notice.Kind]*notice.Kind{}
	for i := range *head.Notices {
		n := &(*head.Notices)[i]
		severity, err := notice.ParseSeverity(n.Severity)
		if err != nil {
			return nil, fmt.Errorf("notice %d: %w", i+1, err)
		}
		if n.Code == "" || n.Message == "" {
			return nil, fmt.Errorf("notice %d has no code or no message", i+1)
		}
		k := notice.Kind{Code: n.Code, Severity: severity, Caution: n.Caution, Title: n.Title, Spec: n.Spec}
		if kinds[k] == nil {
			kinds[k] = &k
		}
		b.Notices.Add(notice.Notice{Kind: kinds[k], Message: n.Message, Help: n.Help, Proposals: n.Proposals,
			Location: notice.Location{File: n.File, Pointer: n.Pointer, Sheet: n.Sheet, Cell: n.Cell, Row: n.Row, Column: n.Column,
				Heading: n.Heading, Line: n.Line, Find: n.Find}})
	}
	return b, nil
}

// change is the outcome of a comparison.
type change struct {
	fresh          []bool // whether the notice at that place of the sorted list is new
	newly, staying int
	gone           notice.List // sorted
}

// since compares the sorted notices of a document with its baseline; nil without one.
func (d *Document) since() *change {
	if d.Baseline == nil {
		return nil
	}
	type key struct{ code, find, pointer, message string }
	of := func(n *notice.Notice) key {
		return key{n.Kind.Code, n.Find, withinFind(n), n.Message}
	}
	old := map[key]int{}
	for i := range d.Baseline.Notices {
		old[of(&d.Baseline.Notices[i])]++
	}
	c := &change{fresh: make([]bool, len(d.Notices))}
	for i := range d.Notices {
		k := of(&d.Notices[i])
		if old[k] == 0 {
			c.fresh[i] = true
			c.newly++
			continue
		}
		old[k]--
		c.staying++
	}
	// Of several alike the last are the gone ones.
	before := slices.Clone(d.Baseline.Notices)
	before.Sort()
	for i := len(before) - 1; i >= 0; i-- {
		if k := of(&before[i]); old[k] > 0 {
			old[k]--
			c.gone.Add(before[i])
		}
	}
	c.gone.Sort()
	return c
}

// withinFind is the pointer of a notice, from its find where it has one.
func withinFind(n *notice.Notice) string {
	rest, ok := strings.CutPrefix(n.Pointer, "/finds/")
	if !ok || n.Find == "" {
		return n.Pointer
	}
	_, rest, _ = strings.Cut(rest, "/")
	return "/" + rest
}

// word is "new" or "unchanged", and empty without a baseline.
func (c *change) word(i int) string {
	switch {
	case c == nil:
		return ""
	case c.fresh[i]:
		return "new"
	}
	return "unchanged"
}
