package main

import (
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/validate"
)

// addResult adds the outcome of one file to a document.
func addResult(doc *render.Document, r *pipeline.Result, language string) {
	doc.Finds += r.Summary.Finds
	doc.Seen = append(doc.Seen, r.Seen)
	if doc.Groups == nil {
		doc.Groups = &notice.Groups{}
	}
	doc.Groups.Join(r.Groups)
	doc.Accepted.Add(r.Accepted...)
	doc.Deadlines = append(doc.Deadlines, r.Summary.Deadlines...)
	doc.Levels = render.Join(doc.Levels, pipeline.Receivers(r.Summary.Levels, language))
	doc.Asked = render.Join(doc.Asked, pipeline.Receivers(r.Summary.Asked, language))
	for code, n := range r.Summary.NotChecked {
		doc.NotChecked[code] += n
	}
	doc.Titles = titles(doc.NotChecked)
}

// titles names the rules that could not be applied.
func titles(codes map[string]int) map[string]string {
	out := map[string]string{}
	for _, r := range validate.Catalogue() {
		if codes[r.Code] > 0 {
			out[r.Code] = r.Title
		}
	}
	return out
}

// changedSettings lists the figures of rules that differ from their defaults.
func changedSettings(o pipeline.Options) []render.Setting {
	if o.Settings == nil {
		return nil
	}
	var out []render.Setting
	for _, x := range o.Settings.List() {
		if x.Changed() {
			out = append(out, render.Setting{Name: x.Name, Value: x.Value, Default: x.Default})
		}
	}
	if p := o.Settings.Protected; p != nil {
		out = append(out, render.Setting{Name: "protected", Value: p.String(), Default: "none"})
	}
	return out
}
