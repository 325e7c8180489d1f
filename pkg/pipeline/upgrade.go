package pipeline

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/upgrade"
)

// Upgraded is the outcome of Upgrade.
type Upgraded struct {
	From    string // the version that the report was of
	Finds   int
	Notices notice.List // one for each change
}

// Upgrade reads a JSON report of this or an earlier version of the format and writes it to w as a
// report of this version, in the format Options.To: JSON, or JSON Lines. It reads and judges nothing
// else of it. When it returns an error, what was written to w is not to be used.
func Upgrade(ctx context.Context, name string, w io.Writer, o Options) (_ *Upgraded, err error) {
	o.ctx = ctx
	if o.To != Findslip && o.To != JSONL {
		return nil, errors.New("upgrade writes JSON or JSON Lines; findslip convert makes the other formats of that")
	}
	src, err := openSource(name, o)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, src.close()) }()
	format, err := sniff(name, src, o)
	if err != nil {
		return nil, err
	}
	if format != Findslip {
		return nil, &InputError{File: name, Code: "not-a-report", Msg: fmt.Sprintf("this is %s, and only reports in JSON have earlier versions", format), Help: "findslip convert reads it"}
	}
	text, err := limit.ReadAll(src, "held", o.Limits.WithDefaults().Held)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	r, err := upgrade.Report(text)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	s, err := find.DecodeJSON(bytes.NewReader(r.Text), find.Options{File: name, Limits: o.Limits})
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	out := &Upgraded{From: r.From, Notices: r.Notices}
	for i := range out.Notices {
		out.Notices[i].File = name
	}
	entries := s.Entries
	s.Entries = func(yield func(*find.Entry, error) bool) {
		for e, err := range entries {
			if err == nil {
				err = ctx.Err()
			}
			if err == nil && e.Find != nil {
				out.Finds++
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
	}
	if err := encode(w, s, o); err != nil {
		return nil, fmt.Errorf("upgrading %s: %w", name, err)
	}
	if src.changed != nil {
		if err := src.changed(); err != nil {
			return nil, err
		}
	}
	return out, nil
}
