package render

import (
	"errors"
	"fmt"
	"io"
	"maps"
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
			Location: notice.Location{File: n.File, Pointer: n.Pointer, Sheet: n.Sheet, Cell: n.Cell, Row: n.Row,
				Column:  n.Column,
				Heading: n.Heading, Line: n.Line, Find: n.Find}})
	}
	return b, nil
}

// change is the outcome of a comparison.
type change struct {
	old            map[sameness]int // how often the earlier report has each
	newly, staying int
	gone           notice.List // sorted
}

// sameness is what two notices have in common that are the same.
type sameness struct{ code, find, pointer, message string }

func samenessOf(n *notice.Notice) sameness {
	return sameness{n.Kind.Code, n.Find, withinFind(n), n.Message}
}

// since compares the notices of a document with its baseline and counts what is new in each group; nil without
// one.
func (d *Document) since() (*change, error) {
	if d.Baseline == nil {
		return nil, nil
	}
	c := &change{old: map[sameness]int{}}
	for i := range d.Baseline.Notices {
		c.old[samenessOf(&d.Baseline.Notices[i])]++
	}
	left := maps.Clone(c.old)
	d.Groups = &notice.Groups{}
	for n, err := range d.Each() {
		if err != nil {
			return nil, err
		}
		g := d.Groups.Add(n)
		if k := samenessOf(n); left[k] > 0 {
			left[k]--
			c.staying++
			continue
		}
		g.New++
		c.newly++
	}
	// Of several alike the last are the gone ones.
	before := slices.Clone(d.Baseline.Notices)
	before.Sort()
	for _, n := range slices.Backward(before) {
		if k := samenessOf(&n); left[k] > 0 {
			left[k]--
			c.gone.Add(n)
		}
	}
	c.gone.Sort()
	return c, nil
}

// replay returns what says of each notice in turn whether it is "new" or "unchanged", and nothing without a
// baseline.
func (c *change) replay() func(*notice.Notice) string {
	if c == nil {
		return func(*notice.Notice) string { return "" }
	}
	left := maps.Clone(c.old)
	return func(n *notice.Notice) string {
		if k := samenessOf(n); left[k] > 0 {
			left[k]--
			return "unchanged"
		}
		return "new"
	}
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
