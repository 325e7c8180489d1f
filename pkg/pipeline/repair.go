package pipeline

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
)

// Proposals are repairs that may be made. They are proposals until a person accepts them, and they
// hold what was written, positions too: the file is for the finder only.
type Proposals struct {
	Version   string         `json:"proposalsVersion"` // "1.0"
	Private   bool           `json:"private"`
	Source    ProposalSource `json:"source"`
	Proposals []Proposal     `json:"proposals"`
}

// ProposalSource says of which report the proposals speak.
type ProposalSource struct {
	File     string `json:"file"`
	ReportID string `json:"reportId"`
}

// A Proposal is one text to be put in the place of another.
type Proposal struct {
	ID       string `json:"id"`     // p-0001
	Find     string `json:"find"`   // URN
	Number   string `json:"number"` // as on the bag
	Pointer  string `json:"pointer"`
	Sheet    string `json:"sheet,omitzero"`
	Cell     string `json:"cell,omitzero"`
	Before   string `json:"before"`
	After    string `json:"after,omitzero"` // empty: only said, nothing can be proposed
	Rule     string `json:"rule"`           // code of the notice, or of the damage
	Reason   string `json:"reason"`
	Evidence string `json:"evidence,omitzero"`
	Choice   string `json:"choice,omitzero"` // of those with one name at most one can be accepted
	Accepted bool   `json:"accepted"`
}

const proposalsVersion = "1.0"

// Propose reads a file of any format and proposes repairs. None is applied.
func Propose(ctx context.Context, name string, o Options) (*Proposals, error) {
	in, err := Open(name, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	o.NoLevel = true
	p := &proposer{out: &Proposals{Version: proposalsVersion, Private: true, Proposals: []Proposal{}}, log: newLogEvidence()}
	_, err = run(ctx, in, o, func(s *find.Stream) error {
		p.report = s.Report
		p.out.Source = ProposalSource{File: base(name), ReportID: s.Report.ID}
		for e, err := range s.Entries {
			if err != nil {
				return err
			}
			if e.Find != nil {
				p.entry(e)
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	p.whole()
	for i := range p.out.Proposals {
		p.out.Proposals[i].ID = fmt.Sprintf("p-%04d", i+1)
	}
	return p.out, nil
}

// WriteProposals writes proposals as JSON.
func WriteProposals(w io.Writer, p *Proposals) error {
	b, err := json.Marshal(p, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ReadProposals reads what WriteProposals wrote and a person has edited, and proves it.
func ReadProposals(r io.Reader) (*Proposals, error) {
	p := new(Proposals)
	if err := json.UnmarshalRead(io.LimitReader(r, 64<<20), p, json.RejectUnknownMembers(true)); err != nil {
		return nil, fmt.Errorf("this is not a file of proposals: %w", err)
	}
	if p.Version != proposalsVersion {
		return nil, fmt.Errorf("proposalsVersion is %q, not %q: this is not a file of proposals of a known version", p.Version, proposalsVersion)
	}
	ids, chosen := map[string]bool{}, map[string]string{}
	for _, x := range p.Proposals {
		if x.ID == "" || ids[x.ID] {
			return nil, fmt.Errorf("the id %q of a proposal is empty or stands twice", x.ID)
		}
		ids[x.ID] = true
		if !x.Accepted {
			continue
		}
		if x.After == "" {
			return nil, fmt.Errorf("proposal %s only says that something is damaged; there is nothing to accept", x.ID)
		}
		if x.Choice != "" && chosen[x.Choice] != "" {
			return nil, fmt.Errorf("proposals %s and %s are a choice: accept one of them", chosen[x.Choice], x.ID)
		}
		chosen[x.Choice] = x.ID
		if _, err := textPath(x.Pointer); err != nil {
			return nil, fmt.Errorf("proposal %s: %w", x.ID, err)
		}
	}
	return p, nil
}

// textPath is the path to the text that a proposal replaces.
func textPath(pointer string) (*find.Path, error) {
	return find.PathTo[find.Find](find.NameOf(pointer))
}

// Repair reads a file, applies the accepted proposals and writes the report to w in the format
// Options.To. It returns how many were applied. When it returns an error, nothing of w is to be used.
func Repair(ctx context.Context, name string, p *Proposals, w io.Writer, o Options) (*Result, int, error) {
	in, err := Open(name, o)
	if err != nil {
		return nil, 0, err
	}
	defer in.Close()
	if p.Source.ReportID != "" && in.Stream.Report.ID != "" && in.Stream.Report.ID != p.Source.ReportID {
		return nil, 0, fmt.Errorf("the proposals speak of another report than %s", name)
	}
	wanted := map[string][]Proposal{}
	total := 0
	for _, x := range p.Proposals {
		if x.Accepted {
			wanted[x.Find] = append(wanted[x.Find], x)
			total++
		}
	}
	applied := 0
	o.NoLevel = true
	report := in.Stream.Report.ID
	o.repair = func(f *find.Find, read func()) error {
		id, changed := f.ID, false
		rest := wanted[id][:0:0]
		for _, x := range wanted[id] {
			// Two bags with one number have one id: the text tells which of them is meant.
			took, err := apply(f, x, report)
			if err != nil {
				return err
			}
			if !took {
				rest = append(rest, x)
				continue
			}
			applied, changed = applied+1, true
		}
		wanted[id] = rest
		if changed {
			read()
		}
		return nil
	}
	r, err := run(ctx, in, o, func(s *find.Stream) error {
		if err := encode(w, s, o); err != nil {
			return err
		}
		if applied != total {
			return unmet(wanted, total-applied)
		}
		return nil
	})
	if err != nil {
		return nil, 0, fmt.Errorf("repairing %s: %w", name, err)
	}
	return r, applied, nil
}

// unmet names the first proposal that found nothing to replace.
func unmet(wanted map[string][]Proposal, n int) error {
	first := ""
	for _, list := range wanted {
		for _, x := range list {
			if first == "" || x.ID < first {
				first = x.ID
			}
		}
	}
	return fmt.Errorf("%d of the accepted proposals, first %s, do not meet what they were made for; make the proposals anew", n, first)
}

// apply puts the text of a proposal in its place, if what it was made for still stands there. The
// old text stays among the columns, and the canonical value goes, to be read anew. An id that was
// made from the number follows it.
func apply(f *find.Find, x Proposal, report string) (took bool, err error) {
	path, err := textPath(x.Pointer)
	if err != nil {
		return false, fmt.Errorf("proposal %s: %w", x.ID, err)
	}
	if currentText(f, path) != x.Before {
		return false, nil
	}
	if x.Pointer == "/number" && f.ID == find.FindID(report, x.Before) {
		f.ID = find.FindID(report, x.After)
	}
	if f.Columns == nil {
		f.Columns = map[string]string{}
	}
	f.Columns[path.Name+" (before repair)"] = x.Before
	switch {
	case strings.HasPrefix(x.Pointer, "/position/"):
		method := f.Position.Method
		f.Position = &find.Position{Method: method}
	case strings.HasPrefix(x.Pointer, "/found/"):
		f.Found = &find.Found{}
	case path.Field.Kind == find.QuantityText:
		clearParts(f, x.Pointer)
	}
	return true, find.Set(path, f, x.After)
}

// currentText is the text that a proposal replaces: the words, or the canonical value that stands
// for them.
func currentText(f *find.Find, path *find.Path) string {
	text := find.Get(path, f)
	if text == "" && path.Pointer == "/position/verbatim" {
		return pointText(f.Position)
	}
	if text == "" && path.Pointer == "/found/verbatim" && f.Found != nil {
		return f.Found.Date
	}
	return text
}

func pointText(p *find.Position) string {
	if p == nil || !p.Latitude.Known() || !p.Longitude.Known() {
		return ""
	}
	return p.Latitude.String() + ", " + p.Longitude.String()
}

// clearParts takes the canonical value of a quantity away.
func clearParts(f *find.Find, pointer string) {
	f.Quantities(func(p, _ string, q *find.Quantity) {
		if p == pointer {
			*q = find.Quantity{Said: q.Said, Verbatim: q.Verbatim, Unknown: q.Unknown}
		}
	})
}

// repairing applies accepted proposals to a normalised stream and reads the finds anew.
func repairing(in *find.Stream, o Options) *find.Stream {
	if o.repair == nil {
		return in
	}
	out := *in
	out.Entries = func(yield func(*find.Entry, error) bool) {
		for e, err := range in.Entries {
			if err == nil && e.Find != nil {
				err = o.repair(e.Find, func() {
					e.Notices, e.Raw = normalise.Find(e.Find, e.Origin.Layout, o.Read), nil
				})
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
	}
	return &out
}
