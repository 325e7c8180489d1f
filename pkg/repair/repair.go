// Package repair proposes repairs of damage in a file of finds, and applies those that a person accepted.
//
//	p, err := repair.Propose(ctx, "season.xlsx", pipeline.Options{})
//	r, err := repair.Apply(ctx, "season.xlsx", p, w, pipeline.Options{To: pipeline.Findslip})
//
// Proposals hold what was written, positions too: they are for the finder only.
//
// This package is unstable: it may change between any two versions.
package repair

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/aside"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/validate"
)

// Proposals are repairs that may be made. They are proposals until a person accepts them, and they
// hold what was written, positions too: the file is for the finder only.
type Proposals struct {
	Version   string         `json:"proposalsVersion"` // "1.0"
	Private   bool           `json:"private"`
	Source    ProposalSource `json:"source"`
	Proposals []Proposal     `json:"proposals"`
	Unread    int            `json:"-"` // pieces of the source that could not be read, of which nothing is proposed
}

// ProposalSource says of which report the proposals speak.
type ProposalSource struct {
	File     string `json:"file"`
	ReportID string `json:"reportId"`
}

// A Proposal is one text to be put in the place of another.
type Proposal struct {
	ID       string `json:"id"`              // p-0001
	Part     string `json:"part,omitzero"`   // people, permissions or outings; missing: the finds
	Record   string `json:"record,omitzero"` // local id of the person, permission or outing
	Find     string `json:"find,omitzero"`   // URN
	Nth      int    `json:"nth,omitzero"`    // which of the records with this id, from 1; missing: the first
	Number   string `json:"number,omitzero"` // as on the bag
	Pointer  string `json:"pointer"`         // relative to the record; /associated/- is a link to be added
	Sheet    string `json:"sheet,omitzero"`
	Cell     string `json:"cell,omitzero"`
	Before   string `json:"before"`
	After    string `json:"after"` // empty: only said, nothing can be proposed
	Rule     string `json:"rule"`  // code of the notice, or of the damage
	Reason   string `json:"reason"`
	Evidence string `json:"evidence"`
	Choice   string `json:"choice,omitzero"` // of those with one name at most one can be accepted
	Accepted bool   `json:"accepted"`
}

const proposalsVersion = "1.0"

// Propose reads a file of any format and proposes repairs. None is applied.
func Propose(ctx context.Context, name string, o pipeline.Options) (*Proposals, error) {
	return propose(ctx, name, o, false, false)
}

// ProposeWithOpen is Propose, and lists each cell that needs a look and of which nothing can be proposed, with an empty
// text to put in: whoever knows writes it.
func ProposeWithOpen(ctx context.Context, name string, o pipeline.Options) (*Proposals, error) {
	return propose(ctx, name, o, false, true)
}

// ProposeToFill is Propose, and proposes what finds lack too: the class that the name is a word for, the age that the
// year on a coin tells, and, where Options.Files has the pictures, the place and the day that they tell.
func ProposeToFill(ctx context.Context, name string, o pipeline.Options) (*Proposals, error) {
	return propose(ctx, name, o, true, false)
}

func propose(ctx context.Context, name string, o pipeline.Options, fill, open bool) (*Proposals, error) {
	if o.Rules == "" {
		o.Rules = "all" // a proposal costs nobody a second look, so those of quiet rules are made too
	}
	in, err := pipeline.Open(ctx, name, o)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	o.Level = validate.NoLevel
	var p *proposer
	unread := 0
	_, err = pipeline.Run(ctx, in, o, func(s *find.Stream) error {
		p = newProposer(s.Report, o.Read.AsOf)
		if fill {
			if p.filling, err = newFilling(o.Files, o.Limits, o.Read.AsOf.Year); err != nil {
				return fmt.Errorf("the folder of the pictures: %w", err)
			}
		}
		p.records(s)
		for e, err := range s.Entries {
			if err != nil {
				return err
			}
			if e.Find != nil {
				p.entry(e, open)
			} else if e.Notices.Count(notice.Error) > 0 {
				unread++
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if err := p.whole(ctx); err != nil {
		return nil, fmt.Errorf("proposing for %s: %w", name, err)
	}
	return &Proposals{Version: proposalsVersion, Private: true, Proposals: p.list(), Unread: unread,
		Source: ProposalSource{File: pipeline.Base(name), ReportID: p.report.ID}}, nil
}

// Write writes proposals as JSON.
func (p *Proposals) Write(w io.Writer) error {
	out := *p
	if out.Proposals == nil {
		out.Proposals = []Proposal{}
	}
	b, err := json.Marshal(out, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ReadProposals reads what Write wrote and a person has edited, and proves it: ids stand
// once, what is accepted has a text to put in, of a choice one at most is accepted, and no cell is
// mended twice. Of the limits Side is looked at.
func ReadProposals(r io.Reader, limits limit.Limits) (*Proposals, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, err
	}
	p := new(Proposals)
	if err := aside.Read(raw, p); err != nil {
		return nil, fmt.Errorf("this is not a file of proposals: %w", err)
	}
	if p.Version != proposalsVersion {
		return nil, fmt.Errorf("proposalsVersion is %q, not %q: this is not a file of proposals of a known version",
			p.Version, proposalsVersion)
	}
	type cell struct {
		part, id, pointer string
		nth               int
	}
	ids, chosen, mended := map[string]bool{}, map[string]string{}, map[cell]string{}
	for i, x := range p.Proposals {
		if x.ID == "" || ids[x.ID] {
			return nil, fmt.Errorf("the id %q of proposal %d of the file is empty or stands twice", x.ID, i+1)
		}
		ids[x.ID] = true
		if !x.Accepted {
			continue
		}
		if x.After == "" {
			return nil, fmt.Errorf("proposal %s only says that something is damaged; write into after what belongs there, or "+
				"leave it unaccepted", x.ID)
		}
		if other := chosen[x.Choice]; x.Choice != "" && other != "" {
			return nil, fmt.Errorf("proposals %s and %s are a choice: accept one of them", other, x.ID)
		}
		chosen[x.Choice] = x.ID
		mends, appends, err := x.target()
		if err != nil {
			return nil, fmt.Errorf("proposal %s: %w", x.ID, err)
		}
		at := cell{x.Part, x.Find + x.Record, mends, max(x.Nth, 1)}
		if other := mended[at]; other != "" && !appends {
			return nil, fmt.Errorf("proposals %s and %s speak of one cell: accept one of them", other, x.ID)
		}
		mended[at] = x.ID
	}
	return p, nil
}

// list is what was proposed, find by find, with ids.
func (p *proposer) list() []Proposal {
	slices.SortStableFunc(p.drafts, func(a, b *draft) int { return cmp.Compare(a.index, b.index) })
	out := make([]Proposal, len(p.drafts))
	for i, d := range p.drafts {
		out[i] = d.Proposal
		out[i].ID = fmt.Sprintf("p-%04d", i+1)
	}
	return out
}
