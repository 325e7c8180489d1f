package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// normalised are the reports of which more, or something else, is said once the values were
// normalised: their seeds hold what the schema and the rules alone say, and the suite goes through
// all phases of section 6.2 of SPEC.md.
var normalised = map[string][]suite.Notice{
	"near/code-not-listed/verbatim-only":         {{Code: "term-not-listed", Pointer: "/finds/0/layer"}},
	"near/not-lifted-but-kept/words-on-cleaning": {{Code: "term-not-listed", Pointer: "/finds/0/cleaning"}},
	"near/unit-missing/words":                    {{Code: "quantity-not-read", Pointer: "/finds/0/dimensions/length"}},
	"draws/unit-missing/gr-for-grain-or-gram":    {{Code: "unit-ambiguous", Pointer: "/finds/0/weight"}},
}

// reports makes vectors of the reports that draw a notice, and of those that come near to it.
func (g *generator) reports() error {
	all, err := cases.Read(os.DirFS(g.root))
	if err != nil {
		return err
	}
	for _, c := range all {
		for i, one := range c.Draws {
			if err := g.report(c.Code, "draws", i, one); err != nil {
				return fmt.Errorf("%s: %w", c.Code, err)
			}
		}
	}
	for _, c := range all {
		for i, one := range c.Near {
			if err := g.report(c.Code, "near", i, one); err != nil {
				return fmt.Errorf("%s: %w", c.Code, err)
			}
		}
	}
	return nil
}

// seeds begin the texts that the ids of vectors are made of, by list. They never change, so that ids stay.
var seeds = map[string]string{"draws": "testdata/invalid/", "near": "testdata/near/"}

func (g *generator) report(code, list string, i int, w cases.Case) error {
	kind := g.kinds[code]
	if kind == nil {
		return fmt.Errorf("%s is no notice", code)
	}
	home := seeds[list] + code + "/" + w.Name + ".json"
	said := make([]suite.Notice, len(w.Notices))
	for i, n := range w.Notices {
		said[i] = suite.Notice(n)
	}
	v := &suite.Vector{ID: opaque(home), Target: "validator", Class: kind.Group, Outcome: "pass", Operation: "validate",
		Why: w.Description, Source: kind.Source,
		Requirements: append([]string{"1.3-3", "5-1"}, g.serve[code]...), Options: suite.Options{"level": w.Level},
		Input:  &suite.Content{File: cases.Folder + "/" + code + ".json", Pointer: fmt.Sprintf("/%s/%d/report", list, i)},
		Expect: suite.Expect{Notices: &said}}
	if list == "draws" {
		v.Outcome = "fail"
	}
	if all, ok := normalised[list+"/"+code+"/"+w.Name]; ok {
		v.Expect.Notices = &all
	}
	if kind.Caution {
		v.Requirements = append(v.Requirements, "5-2")
	}
	file := list
	if w.Of != "" {
		file, v.Input.Pointer, v.Input.Change = "edge", w.Of, w.Change
	}
	if w.AsOf != "" {
		v.Options["asOf"] = w.AsOf
	}
	if w.Protected != nil {
		features := []any{}
		for _, area := range w.Protected {
			features = append(features, map[string]any{"type": "Feature", "properties": map[string]any{}, "geometry": area})
		}
		v.Options["protected"] = map[string]any{"type": "FeatureCollection", "features": features}
	}
	if len(w.Pictures) > 0 {
		pictures := map[string]any{}
		for name, file := range w.Pictures {
			pictures[name] = map[string]any{"file": cases.Folder + "/" + file}
		}
		v.Options["pictures"] = pictures
	}
	g.add(folderOf(kind)+"/from-"+file+"-reports.json", v)
	if strings.HasPrefix(code, "schema-") {
		value := `{"valid":true}`
		if list == "draws" {
			value = `{"valid":false}`
		}
		g.add("required/from-schema.json", &suite.Vector{ID: opaque("schema " + home), Target: "document", Class: "schema",
			Outcome: v.Outcome, Operation: "schema", Why: w.Description,
			Source: kind.Source, Requirements: append([]string{"1.3-1", "6.1-2"}, g.serve[code]...),
			Options: suite.Options{"schema": "report"}, Input: v.Input,
			Expect: suite.Expect{Value: json.RawMessage(value)}})
	}
	return nil
}

// folderOf puts errors into the required part; of the others those that rest on a proposal of ours
// are proposed, and the rest optional.
func folderOf(k *notice.Kind) string {
	switch {
	case k.Severity == notice.Error || strings.HasPrefix(k.Code, "schema-"):
		return "required"
	case strings.Contains(k.Source, "our proposal"):
		return "proposed"
	}
	return "optional"
}

// valid makes vectors of the reports that are valid and canonical.
func (g *generator) valid() error {
	names, err := filepath.Glob(filepath.Join(g.root, "testdata", "valid", "*.findslip.json"))
	if err != nil {
		return err
	}
	slices.Sort(names)
	for _, file := range names {
		raw, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(g.root, file)
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		text := string(raw)
		in := &suite.Content{File: name}
		g.add("required/from-schema.json", &suite.Vector{ID: opaque("schema " + name), Target: "document", Class: "schema",
			Outcome: "pass", Operation: "schema",
			Why: "a report that holds all it should", Source: "schema/report.schema.json",
			Requirements: []string{"1.3-1", "6.1-2", "3-1", "3.1-1", "3.2-1", "3.3-1", "3.4-1", "3.4-3", "3.5-1", "4.2-1",
				"4.2-2"},
			Options: suite.Options{"schema": "report"}, Input: in,
			Expect: suite.Expect{Value: json.RawMessage(`{"valid":true}`)}})
		if !strings.Contains(text, "\n  \"id\":") {
			continue // it is given an id, and is no longer the same
		}
		g.add("required/from-canonical.json", &suite.Vector{ID: opaque("canonical " + name), Target: "producer",
			Class: "canonical", Outcome: "pass", Operation: "convert",
			Why: "canonical output read and written again is the same bytes", Source: "SPEC.md section 8.1",
			Requirements: []string{"8.1-1", "3.1-2"},
			Options:      suite.Options{"from": "findslip", "to": "findslip"}, Input: in, Expect: suite.Expect{Text: &text}})
		for _, format := range []string{"jsonl", "geojson"} {
			g.add("required/from-canonical.json",
				&suite.Vector{ID: opaque(format + " " + name), Target: "converter", Class: format, Outcome: "pass",
					Operation: "convert",
					Why:       "there and back without a loss", Source: "SPEC.md section 8.8",
					Requirements: map[string][]string{"jsonl": {"8.3-1"}, "geojson": {"8.6-1"}}[format],
					Options:      suite.Options{"from": "findslip", "to": format}, Input: in,
					Then:   []suite.Step{{Operation: "convert", Options: suite.Options{"from": format, "to": "findslip"}}},
					Expect: suite.Expect{Text: &text}})
		}
	}
	return nil
}
