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
)

// A whole is one file of testdata/invalid or testdata/near.
type whole struct {
	Description, AsOf, Level string
	Notices                  []suite.Notice
	Protected                []json.RawMessage
	Report                   json.RawMessage
}

// normalised are the reports of which more, or something else, is said once the values were
// normalised: their homes hold what the schema and the rules alone say, and the suite goes through
// all phases of section 6.2 of SPEC.md.
var normalised = map[string][]suite.Notice{
	"testdata/near/code-misspelt/verbatim-only.json":           {{Code: "term-not-listed", Pointer: "/finds/0/layer"}},
	"testdata/near/not-lifted-but-kept/words-on-cleaning.json": {{Code: "term-not-listed", Pointer: "/finds/0/cleaning"}},
	"testdata/invalid/uncertainty-missing/phone.json":          {{Code: "uncertainty-assumed", Pointer: "/finds/0/position/uncertainty"}},
	"testdata/near/unit-missing/words.json":                    {{Code: "quantity-not-read", Pointer: "/finds/0/dimensions/length"}},
	"testdata/invalid/unit-missing/gr-for-grain-or-gram.json":  {{Code: "unit-ambiguous", Pointer: "/finds/0/weight"}},
	"testdata/invalid/schema-format/day-that-is-none.json":     {{Code: "schema-format", Pointer: "/finds/0/embargoUntil"}, {Code: "date-impossible", Pointer: "/finds/0/embargoUntil"}},
}

// reports makes vectors of the reports that draw a notice, and of those that come near to it.
func (g *generator) reports() error {
	for _, dir := range []string{"invalid", "near"} {
		names, err := filepath.Glob(filepath.Join(g.root, "testdata", dir, "*", "*.json"))
		if err != nil {
			return err
		}
		slices.Sort(names)
		for _, file := range names {
			if err := g.report(dir, file); err != nil {
				return fmt.Errorf("%s: %w", file, err)
			}
		}
	}
	return nil
}

func (g *generator) report(dir, file string) error {
	raw, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	var w whole
	if err := json.Unmarshal(raw, &w); err != nil {
		return err
	}
	code := filepath.Base(filepath.Dir(file))
	kind := g.kinds[code]
	if kind == nil {
		return fmt.Errorf("%s is no notice", code)
	}
	name, err := filepath.Rel(g.root, file)
	if err != nil {
		return err
	}
	name = filepath.ToSlash(name)
	v := &suite.Vector{ID: opaque(name), Target: "validator", Class: kind.Group, Outcome: "pass", Operation: "validate", Why: w.Description, Source: kind.Source,
		Requirements: append([]string{"1.3-3", "5-1"}, g.serve[code]...), Options: suite.Options{"level": w.Level},
		Input: &suite.Content{File: name, Pointer: "/report"}, Expect: suite.Expect{Notices: &w.Notices}}
	if dir == "invalid" {
		v.Outcome = "fail"
	}
	if list, ok := normalised[name]; ok {
		v.Expect.Notices = &list
	}
	if kind.Caution {
		v.Requirements = append(v.Requirements, "5-2")
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
	if err := g.pictures(v, filepath.Dir(file)); err != nil {
		return err
	}
	g.add(folderOf(kind)+"/from-"+dir+"-reports.json", v)
	if strings.HasPrefix(code, "schema-") {
		value := `{"valid":true}`
		if dir == "invalid" {
			value = `{"valid":false}`
		}
		g.add("required/from-schema.json", &suite.Vector{ID: opaque("schema " + name), Target: "document", Class: "schema", Outcome: v.Outcome, Operation: "schema", Why: w.Description,
			Source: kind.Source, Requirements: append([]string{"1.3-1", "6.1-2"}, g.serve[code]...), Options: suite.Options{"schema": "report"}, Input: v.Input,
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

// pictures hands over the pictures that lie beside a report.
func (g *generator) pictures(v *suite.Vector, folder string) error {
	files, err := filepath.Glob(filepath.Join(folder, "files", "*"))
	if err != nil || len(files) == 0 {
		return err
	}
	pictures := map[string]any{}
	for _, file := range files {
		name, err := filepath.Rel(g.root, file)
		if err != nil {
			return err
		}
		pictures[filepath.Base(file)] = map[string]any{"file": filepath.ToSlash(name)}
	}
	v.Options["pictures"] = pictures
	return nil
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
		g.add("required/from-schema.json", &suite.Vector{ID: opaque("schema " + name), Target: "document", Class: "schema", Outcome: "pass", Operation: "schema",
			Why: "a report that holds all it should", Source: "schema/report.schema.json", Requirements: []string{"1.3-1", "6.1-2", "3.1-1", "3.2-1", "3.3-1", "3.4-1", "3.4-3", "3.5-1", "4.2-1", "4.2-2"},
			Options: suite.Options{"schema": "report"}, Input: in, Expect: suite.Expect{Value: json.RawMessage(`{"valid":true}`)}})
		if !strings.Contains(text, "\n  \"id\":") {
			continue // it is given an id, and is no longer the same
		}
		g.add("required/from-canonical.json", &suite.Vector{ID: opaque("canonical " + name), Target: "producer", Class: "canonical", Outcome: "pass", Operation: "convert",
			Why: "canonical output read and written again is the same bytes", Source: "SPEC.md section 8.1", Requirements: []string{"8.1-1", "3.1-2"},
			Options: suite.Options{"from": "findslip", "to": "findslip"}, Input: in, Expect: suite.Expect{Text: &text}})
		for _, format := range []string{"jsonl", "geojson"} {
			g.add("required/from-canonical.json", &suite.Vector{ID: opaque(format + " " + name), Target: "converter", Class: format, Outcome: "pass", Operation: "convert",
				Why: "there and back without a loss", Source: "SPEC.md section 8.8", Requirements: map[string][]string{"jsonl": {"8.3-1"}, "geojson": {"8.6-1"}}[format],
				Options: suite.Options{"from": "findslip", "to": format}, Input: in,
				Then: []suite.Step{{Operation: "convert", Options: suite.Options{"from": format, "to": "findslip"}}}, Expect: suite.Expect{Text: &text}})
		}
	}
	return nil
}
