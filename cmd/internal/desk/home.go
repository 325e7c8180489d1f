package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/handover"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/merge"
	"github.com/findslip/findslip/pkg/pipeline"
)

// came is what came back: an answer with proposals, or another log with questions.
type came struct {
	Kind      string              `json:"kind"` // answer or log
	Proposals *handover.Proposals `json:"proposals,omitzero"`
}

// receive compares what came back with the log. What is no answer to a copy that the register knows is told so, and
// can be merged as a log of its own.
func (d *Desk) receive(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	kept, err := registerOf(ask.Register, time.Now().UTC())
	if err != nil {
		return "", nil, err
	}
	ours, err := pipeline.Collect(ctx, ask.Name, o)
	if err != nil {
		return "", nil, err
	}
	o.ReportID, o.Table.Map = "", nil
	theirs, err := pipeline.Collect(ctx, ask.Answer, o)
	if err != nil {
		return "", nil, err
	}
	list, err := handover.Propose(ours, theirs, kept, handover.Options{From: ask.By, Day: o.Read.AsOf.String()})
	if errors.Is(err, handover.ErrNoCopy) {
		return encode(came{Kind: "log"})
	} else if err != nil {
		return "", nil, fmt.Errorf("receiving %s: %w", ask.Answer, err)
	}
	return encode(came{Kind: "answer", Proposals: list})
}

// accept writes the log with the proposals that a person accepted.
func (d *Desk) accept(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	list, err := handover.ReadProposals(bytes.NewReader(ask.Proposals), limit.Limits{})
	if err != nil {
		return "", nil, err
	}
	if o.To, err = targetOf(ask.To); err != nil {
		return "", nil, err
	}
	ours, err := pipeline.Collect(ctx, ask.Name, o)
	if err != nil {
		return "", nil, err
	}
	done, err := handover.Accept(ours, list)
	if err != nil {
		return "", nil, err
	}
	var file bytes.Buffer
	if err := pipeline.Encode(&file, find.StreamOf(done.Log).Until(ctx), o); err != nil {
		return "", nil, err
	}
	text, _, err := encode(map[string]any{"refused": done.Refused})
	return text, file.Bytes(), err
}

// merge makes one log of several: the questions that a person is asked, and the log once none is open.
func (d *Desk) merge(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	mo := merge.Options{Read: o}
	if len(ask.Proposals) > 0 {
		decided, err := merge.ReadDecisions(bytes.NewReader(ask.Proposals), limit.Limits{})
		if err != nil {
			return "", nil, err
		}
		mo.Decided = decided
	}
	m, err := merge.Read(ctx, ask.Names, mo)
	if err != nil {
		return "", nil, err
	}
	text, _, err := encode(map[string]any{"decisions": m.Decisions, "open": m.Open, "lost": m.Lost})
	if err != nil || m.Open > 0 || ask.To == "" {
		return text, nil, err
	}
	if o.To, err = targetOf(ask.To); err != nil {
		return "", nil, err
	}
	var file bytes.Buffer
	err = pipeline.Encode(&file, m.Stream(ctx).Until(ctx), o)
	return text, file.Bytes(), err
}
