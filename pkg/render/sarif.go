package render

import (
	"io"
	"net/url"
	"path/filepath"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

// The part of SARIF 2.1.0 (OASIS Standard, 27 March 2020) that is written.
type (
	sarifLog struct {
		Schema  string     `json:"$schema"`
		Version string     `json:"version"`
		Runs    []sarifRun `json:"runs"`
	}
	sarifRun struct {
		Tool       sarifTool    `json:"tool"`
		ColumnKind string       `json:"columnKind"`
		Properties *sarifRunBag `json:"properties,omitzero"` // a property bag, section 3.8
		// The results are written behind it, one at a time.
	}
	sarifRunBag struct {
		Deadlines  []jsonDeadline `json:"findslip/deadlines,omitzero"`
		Settings   []Setting      `json:"findslip/settings,omitzero"`
		NotChecked []jsonUnknown  `json:"findslip/notChecked,omitzero"`
	}
	sarifTool struct {
		Driver sarifDriver `json:"driver"`
	}
	sarifDriver struct {
		Name    string      `json:"name"`
		Version string      `json:"version,omitzero"`
		Rules   []sarifRule `json:"rules"`
	}
	sarifRule struct {
		ID            string          `json:"id"`
		Short         sarifText       `json:"shortDescription"`
		Full          sarifText       `json:"fullDescription,omitzero"`
		Help          sarifText       `json:"help,omitzero"`
		Configuration sarifConfig     `json:"defaultConfiguration"`
		Properties    sarifProperties `json:"properties"`
	}
	sarifConfig struct {
		Level string `json:"level"`
	}
	sarifProperties struct {
		Tags []string `json:"tags"`
	}
	sarifText struct {
		Text string `json:"text"`
	}
	sarifResult struct {
		RuleID       string             `json:"ruleId"`
		RuleIndex    int                `json:"ruleIndex"`
		Level        string             `json:"level"`
		Message      sarifText          `json:"message"`
		Locations    []sarifLocation    `json:"locations,omitzero"`
		Suppressions []sarifSuppression `json:"suppressions,omitzero"`
		Baseline     string             `json:"baselineState,omitzero"` // section 3.27.24
	}
	sarifSuppression struct {
		Kind          string `json:"kind"`
		Justification string `json:"justification"`
	}
	sarifLocation struct {
		Physical *sarifPhysical `json:"physicalLocation,omitzero"`
		Logical  []sarifLogical `json:"logicalLocations,omitzero"`
	}
	sarifPhysical struct {
		Artifact sarifArtifact `json:"artifactLocation"`
		Region   *sarifRegion  `json:"region,omitzero"`
	}
	sarifArtifact struct {
		URI string `json:"uri"`
	}
	sarifRegion struct {
		StartLine   int `json:"startLine"`
		StartColumn int `json:"startColumn,omitzero"`
	}
	sarifLogical struct {
		Name string `json:"fullyQualifiedName"`
		Kind string `json:"kind"`
	}
)

// SARIF writes the notices in SARIF 2.1.0. A row of a sheet is told as a line; accepted notices
// are there as suppressed. Where there is an earlier report to compare with, each result has its
// baselineState.
func SARIF(w io.Writer, d Document) error {
	d.sort()
	tool, version, _ := strings.Cut(d.Tool, " ")
	run := sarifRun{Tool: sarifTool{sarifDriver{Name: tool, Version: version, Rules: []sarifRule{}}},
		ColumnKind: "unicodeCodePoints"}
	index := map[string]int{}
	changes, err := d.since()
	if err != nil {
		return err
	}
	for _, k := range kindsOf(d, changes) {
		index[k.Code] = len(run.Tool.Driver.Rules)
		run.Tool.Driver.Rules = append(run.Tool.Driver.Rules,
			sarifRule{ID: k.Code, Short: sarifText{k.Title}, Full: sarifText{orTitle(k.Why, k)},
				Help: sarifText{orTitle(k.Help, k)}, Configuration: sarifConfig{sarifLevel(k)},
				Properties: sarifProperties{sarifTags(k)}})
	}
	bag := sarifRunBag{Deadlines: deadlinesJSON(d.Deadlines), Settings: d.Settings}
	for _, code := range sortedCodes(d.NotChecked) {
		bag.NotChecked = append(bag.NotChecked, jsonUnknown{code, d.NotChecked[code]})
	}
	if bag.Deadlines != nil || bag.Settings != nil || bag.NotChecked != nil {
		run.Properties = &bag
	}
	result := func(n *notice.Notice, state string) sarifResult {
		r := sarifResult{RuleID: n.Kind.Code, RuleIndex: index[n.Kind.Code], Level: sarifLevel(n.Kind),
			Message: sarifText{n.Message}, Locations: sarifLocations(n), Baseline: state}
		if n.Accepted != "" {
			r.Suppressions = []sarifSuppression{{"external", acceptedWords(n)}}
		}
		return r
	}
	head := sarifLog{"https://json.schemastore.org/sarif-2.1.0.json", "2.1.0", []sarifRun{run}}
	return writeLists(w, head, "\n    }\n  ]\n}", 3, []jsonList{{"results", func(emit func(any) error) error {
		word := changes.replay()
		for n, err := range d.Each() {
			if err == nil {
				err = emit(result(n, word(n)))
			}
			if err != nil {
				return err
			}
		}
		for i := range d.Accepted {
			if err := emit(result(&d.Accepted[i], "")); err != nil {
				return err
			}
		}
		if changes != nil {
			for i := range changes.gone {
				if err := emit(result(&changes.gone[i], "absent")); err != nil {
					return err
				}
			}
		}
		return nil
	}}})
}

// kindsOf returns the kinds of the notices by code, those of notices that are gone with them.
func kindsOf(d Document, c *change) []*notice.Kind {
	seen := map[string]*notice.Kind{}
	if c != nil {
		for i := range c.gone {
			seen[c.gone[i].Kind.Code] = c.gone[i].Kind
		}
	}
	for _, g := range d.groups().List() {
		seen[g.Kind.Code] = g.Kind
	}
	for i := range d.Accepted {
		seen[d.Accepted[i].Kind.Code] = d.Accepted[i].Kind
	}
	out := make([]*notice.Kind, 0, len(seen))
	for _, k := range seen {
		out = append(out, k)
	}
	slices.SortFunc(out, func(a, b *notice.Kind) int { return strings.Compare(a.Code, b.Code) })
	return out
}

func orTitle(s string, k *notice.Kind) string {
	if s == "" {
		return k.Title
	}
	return s
}

func sarifLevel(k *notice.Kind) string {
	if k.Severity == notice.Info {
		return "note"
	}
	return k.Severity.String()
}

func sarifTags(k *notice.Kind) []string {
	tags := []string{k.Group}
	if k.Caution {
		tags = append(tags, "caution")
	}
	return tags
}

func sarifLocations(n *notice.Notice) []sarifLocation {
	var l sarifLocation
	if n.File != "" {
		l.Physical = &sarifPhysical{Artifact: sarifArtifact{(&url.URL{Path: filepath.ToSlash(n.File)}).String()}}
		if line := max(n.Row, n.Line); line > 0 {
			l.Physical.Region = &sarifRegion{line, n.Column}
		}
	}
	if n.Pointer != "" {
		l.Logical = []sarifLogical{{n.Pointer, "member"}}
	}
	if l.Physical == nil && l.Logical == nil {
		return nil
	}
	return []sarifLocation{l}
}
