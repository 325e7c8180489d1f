package handover

import (
	"bytes"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"

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

// Accept applies to a log the proposals that were accepted. One that no longer fits, because the log has
// changed where it builds on, is refused and named, and nothing of it is applied. The log is left alone.
func Accept(log *find.Report, p *Proposals) (out *find.Report, refused []string, err error) {
	if log.ID != p.Report {
		return nil, nil, fmt.Errorf("the proposals are for another log than this one")
	}
	raw, err := find.Marshal(log)
	if err != nil {
		return nil, nil, err
	}
	for _, proposal := range p.Proposals {
		if !proposal.Accepted {
			continue
		}
		next, why := apply(raw, proposal.Patch)
		if why != "" {
			refused = append(refused, fmt.Sprintf("%s (find %s): %s", proposal.ID, proposal.Find, why))
			continue
		}
		raw = next
	}
	s, err := find.DecodeJSON(bytes.NewReader(raw), find.Options{})
	if err != nil {
		return nil, nil, err
	}
	out, _, err = find.Collect(s)
	return out, refused, err
}

// apply applies one patch to a document, wholly or not at all.
func apply(raw []byte, patch []Step) (out []byte, why string) {
	var doc any
	if err := json.Unmarshal(raw, &doc); err != nil {
		return nil, err.Error()
	}
	for _, s := range patch {
		if s.Op == "add" && s.Path == "/people/-" && hasPerson(doc, s.Value) {
			continue // an earlier proposal of the same giver has added him
		}
		if why := step(&doc, s); why != "" {
			return nil, why
		}
	}
	out, err := json.Marshal(doc)
	if err != nil {
		return nil, err.Error()
	}
	return out, ""
}

func hasPerson(doc any, value jsontext.Value) bool {
	var person struct {
		ID string `json:"id"`
	}
	root, _ := doc.(map[string]any)
	people, _ := root["people"].([]any)
	if json.Unmarshal(value, &person) != nil {
		return false
	}
	for _, p := range people {
		if m, ok := p.(map[string]any); ok && m["id"] == person.ID {
			return true
		}
	}
	return false
}

// step applies one operation. Of JSON Patch only what proposals are made of is known: test, add to an object
// or at the end of a list, which is made where there is none, and remove of a member.
func step(doc *any, s Step) string {
	parts := strings.Split(strings.TrimPrefix(s.Path, "/"), "/")
	for i := range parts {
		parts[i] = strings.NewReplacer("~1", "/", "~0", "~").Replace(parts[i])
	}
	at, last := *doc, parts[len(parts)-1]
	var set func(any)
	for i, part := range parts[:len(parts)-1] {
		switch v := at.(type) {
		case map[string]any:
			if _, ok := v[part]; !ok && s.Op == "add" && i == len(parts)-2 {
				v[part] = []any{}
			}
			at, set = v[part], func(x any) { v[part] = x }
		case []any:
			n, err := strconv.Atoi(part)
			if err != nil || n < 0 || n >= len(v) {
				return "there is no " + s.Path
			}
			at, set = v[n], func(x any) { v[n] = x }
		default:
			return "there is no " + s.Path
		}
	}
	var value any
	if len(s.Value) > 0 && json.Unmarshal(s.Value, &value) != nil {
		return "the value at " + s.Path + " cannot be read"
	}
	switch v := at.(type) {
	case map[string]any:
		switch s.Op {
		case "test":
			if !reflect.DeepEqual(v[last], value) {
				return "the log has changed at " + s.Path
			}
			return ""
		case "remove":
			delete(v, last)
			return ""
		case "add":
			if _, there := v[last]; there {
				return "the log has something at " + s.Path + " already"
			}
			v[last] = value
			return ""
		}
	case []any:
		if s.Op == "add" && last == "-" && set != nil {
			set(append(v, value))
			return ""
		}
	}
	return "the operation " + s.Op + " at " + s.Path + " is not one of a proposal"
}
