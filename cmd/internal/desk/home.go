package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/handover"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/merge"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// came is what came back: an answer with proposals, another log with questions, an answer of which it cannot be
// told what it answers, or nothing that holds a find.
type came struct {
	Kind      string              `json:"kind"` // answer, log, other-log, no-register or nothing
	Finds     int                 `json:"finds"`
	Who       []string            `json:"who,omitzero"` // its finders
	Of        string              `json:"of,omitzero"`  // which of several logs was answered; empty: all of them as one
	Proposals *handover.Proposals `json:"proposals,omitzero"`
	Labels    map[string]string   `json:"labels,omitzero"` // what the codes of an opinion are called
}

// receive compares what came back with the log. What is no answer to a copy that the register knows is told so, and
// can be merged as a log of its own, unless it is plain that it answers something.
func (d *Desk) receive(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	kept, err := registerOf(ask.Register, time.Now().UTC())
	if err != nil {
		return "", nil, err
	}
	theirs := pipeline.Options{FS: o.FS, Read: o.Read, Profiles: o.Profiles}
	answer, err := pipeline.Collect(ctx, ask.Answer, theirs)
	if err != nil {
		return "", nil, err
	}
	kind := "log"
	if len(answer.Finds) == 0 {
		return encode(came{Kind: "nothing"})
	}
	if isAnswer(answer) {
		kind = "no-register"
	}
	for _, one := range ask.alone() {
		own, err := d.optionsOf(&one)
		if err != nil {
			return "", nil, err
		}
		name, err := d.log(ctx, &one, &own)
		if err != nil {
			return "", nil, err
		}
		ours, err := pipeline.Collect(ctx, name, own)
		if err != nil {
			return "", nil, err
		}
		list, err := handover.Propose(ours, answer, kept, handover.Options{From: ask.By, Day: o.Read.AsOf.String()})
		switch {
		case err == nil:
			of := ""
			if len(ask.Names) > 0 && len(one.Names) == 0 {
				of = one.Name
			}
			labels := map[string]string{}
			for _, name := range []string{"certainty", "opinion-seen"} {
				for _, c := range vocabulary.Get(name).Concepts {
					labels[c.Code] = c.Label(ask.Options.Language)
				}
			}
			return encode(came{Kind: "answer", Of: of, Proposals: list, Labels: labels})
		case errors.Is(err, handover.ErrOtherLog):
			kind = "other-log"
		case !errors.Is(err, handover.ErrNoCopy):
			return "", nil, fmt.Errorf("receiving %s: %w", ask.Answer, err)
		}
	}
	last := came{Kind: kind, Finds: len(answer.Finds)}
	for _, p := range answer.People {
		last.Who = append(last.Who, p.Name)
	}
	return encode(last)
}

// alone are the requests of what an answer can belong to: all logs as one, and each by itself.
func (ask *Request) alone() []Request {
	out := []Request{*ask}
	for _, name := range ask.Names {
		one := *ask
		one.Names, one.Name, one.Stated = nil, name, ask.Each[name]
		out = append(out, one)
	}
	return out
}

// isAnswer reports whether a report was plainly made of a copy of another: it says so, or holds opinions and nothing
// of its own.
func isAnswer(r *find.Report) bool {
	if r.CopyOf != "" || r.Audience != "" && r.Audience != "self" {
		return true
	}
	opinions := 0
	for _, f := range r.Finds {
		if f.Found != nil || f.Position != nil {
			return false
		}
		opinions += len(f.Opinions)
	}
	return opinions > 0
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
	name, err := d.log(ctx, ask, &o)
	if err != nil {
		return "", nil, err
	}
	ours, err := pipeline.Collect(ctx, name, o)
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
	name, err := d.log(ctx, ask, &mo.Read)
	if err != nil {
		return "", nil, err
	}
	if mo.Read.From != "" { // it was read; the other file is of any form
		mo.Read.From, mo.Read.FS, name = "", d.with(name+".findslip.json", d.kept.data), name+".findslip.json"
	}
	m, err := merge.Read(ctx, []string{name, ask.Answer}, mo)
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

// A question is something that a log leaves open and that is stated once for all of it.
type question struct {
	Text    string   `json:"text"`
	Asks    string   `json:"asks"`
	About   []string `json:"about"` // the words of the log that stand in the text
	Answers []answer `json:"answers"`
	Likely  bool     `json:"likely"` // the first answer is the likely one
	Free    bool     `json:"free"`   // any other text is an answer too
}

type answer struct {
	Value string `json:"value"`
	Words string `json:"words"`
}

// questions returns what a log leaves open and, as a file to be kept beside the log, the settings with the answers that
// were given.
func (d *Desk) questions(ctx context.Context, ask *Request, o pipeline.Options) (string, []byte, error) {
	list, settings, err := pipeline.Questions(ctx, ask.Name, o)
	if err != nil {
		return "", nil, err
	}
	out := []question{}
	for _, q := range list {
		one := question{Text: q.Text, Asks: q.Asks, About: q.About, Likely: q.Likely, Free: q.Free, Answers: []answer{}}
		for _, a := range q.Answers {
			one.Answers = append(one.Answers, answer(a))
		}
		out = append(out, one)
	}
	for _, key := range slices.Sorted(maps.Keys(ask.Answers)) {
		i, err := strconv.Atoi(key)
		if err != nil || i < 0 || i >= len(list) || ask.Answers[key] == "" {
			continue
		}
		if err := list[i].Answer(settings, ask.Answers[key]); err != nil {
			return "", nil, err
		}
	}
	var file bytes.Buffer
	if err := settings.Write(&file); err != nil {
		return "", nil, err
	}
	text, _, err := encode(map[string]any{"questions": out, "name": pipeline.SettingsName(ask.Name)})
	return text, file.Bytes(), err
}
