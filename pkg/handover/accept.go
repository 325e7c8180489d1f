package handover

import (
	"bytes"
	"fmt"
	"io"
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// Write writes proposals as JSON.
func (p *Proposals) Write(w io.Writer) error {
	b, err := json.Marshal(p, jsontext.WithIndent("  "), json.Deterministic(true))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ReadProposals reads what Write has written, and somebody has looked at. Of the limits Side is looked at.
func ReadProposals(r io.Reader, limits limit.Limits) (*Proposals, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, fmt.Errorf("reading the proposals: %w", err)
	}
	p := &Proposals{}
	if err := json.Unmarshal(raw, p); err != nil || p.Version != answersVersion {
		return nil, fmt.Errorf("these are no proposals of an answer: write them with findslip receive LOG ANSWER -o PROPOSALS")
	}
	return p, nil
}

// Accepted is what came of accepted proposals.
type Accepted struct {
	Log     *find.Report
	Applied int
	Refused []string   // proposals that no longer fit, and why
	Undo    *Proposals // what takes the log back to what it was; all of it is set as accepted
}

// Accept applies to a log the proposals that were accepted. One that no longer fits, because the log has
// changed where it builds on, is refused and named, and nothing of it is applied. The log is left alone.
func Accept(log *find.Report, p *Proposals) (*Accepted, error) {
	if log.ID != p.Report {
		return nil, fmt.Errorf("the proposals are for another log than this one")
	}
	raw, err := find.Marshal(log)
	if err != nil {
		return nil, err
	}
	doc := &node{raw: raw}
	out := &Accepted{Undo: &Proposals{Version: answersVersion, Private: true, Report: p.Report, Copy: p.Copy,
		From: p.From, Day: p.Day, Proposals: []Proposal{}, Said: []string{}}}
	for _, proposal := range p.Proposals {
		if !proposal.Accepted {
			continue
		}
		undo, err := doc.apply(withoutPeopleThere(doc, proposal.Patch))
		if err != nil {
			out.Refused = append(out.Refused, fmt.Sprintf("%s (find %s): %v", proposal.ID, proposal.Find, err))
			continue
		}
		out.Applied++
		back := proposal
		back.Says, back.Patch = "undo: "+proposal.Says, undo
		out.Undo.Proposals = append(out.Undo.Proposals, back)
	}
	slices.Reverse(out.Undo.Proposals) // the last goes first
	s, err := find.DecodeJSON(bytes.NewReader(doc.value()), find.Options{})
	if err != nil {
		return nil, err
	}
	out.Log, _, err = find.Collect(s)
	return out, err
}

// withoutPeopleThere leaves out of a patch the steps that add a person whom an earlier proposal has added.
func withoutPeopleThere(doc *node, patch []Step) []Step {
	return slices.DeleteFunc(slices.Clone(patch), func(s Step) bool {
		if s.Op != "add" || s.Path != "/people/-" {
			return false
		}
		people, err := doc.child("people")
		if err != nil || people.open() != nil {
			return false
		}
		return slices.ContainsFunc(people.items, func(n *node) bool { return same(n.value(), s.Value) })
	})
}
