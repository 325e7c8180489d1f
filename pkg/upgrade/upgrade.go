// Package upgrade brings reports of earlier versions of the format to the present one and says what
// it changed.
//
//	r, err := upgrade.Report(text) // r.Text is the report as 1.0, r.Notices one notice for each change
//
// It changes what SPEC.md section 10.1 names and nothing else: a report that is of version 1.x
// already comes back as it is, and so does every member that no earlier version had otherwise. What
// cannot be carried over stays where it was, under its old name, and is said.
package upgrade

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// Draft is the one earlier version that is read.
const Draft = "0.9"

// Kinds of notice that bringing a report to another version gives.
var (
	versionUpgraded = &notice.Kind{
		Code: "version-upgraded", Severity: notice.Info, Group: "conversion", Spec: "10.1",
		Title:  "report of an earlier version",
		Why:    "programs of the present version refuse it as it stands",
		Help:   "Keep the old file until you have looked through the new one.",
		Source: "our proposal",
		Before: `"findslip": "0.9"`, After: `"findslip": "1.0"`,
	}
	memberRenamed = &notice.Kind{
		Code: "member-renamed", Severity: notice.Info, Group: "conversion", Spec: "10.1",
		Title:  "member has another name now",
		Why:    "under its old name nobody would look for it",
		Help:   "Nothing to do: the value is the same.",
		Source: "our proposal",
		Before: `"label": "12a"`, After: `"number": "12a"`,
	}
	shapeChanged = &notice.Kind{
		Code: "shape-changed", Severity: notice.Info, Group: "conversion", Spec: "10.1",
		Title:  "value is written in another shape now",
		Why:    "one number cannot say that a depth has no upper bound, or in which unit it was stated",
		Help:   "Compare the new value with the old file once.",
		Source: "our proposal",
		Before: `"depth": {"value": 8, "unit": "in"}`, After: `"depth": {"min": 20.32, "max": 20.32, "unit": "cm", "said": "in"}`,
	}
	unclear = &notice.Kind{
		Code: "upgrade-unclear", Severity: notice.Warning, Group: "conversion", Spec: "10.1",
		Title:  "member of an earlier version cannot be carried over",
		Why:    "to carry it over would mean to guess, or to write over something else",
		Help:   "The member stays under its old name. Write what it says into the new one by hand.",
		Source: "our proposal",
		Before: `"label": "12a", "number": "12"`, After: `"number": "12a"`,
	}
)

// Kinds returns every kind of notice that this package gives.
func Kinds() []*notice.Kind {
	return []*notice.Kind{versionUpgraded, memberRenamed, shapeChanged, unclear}
}

// Result is a report in the present version.
type Result struct {
	From    string         // the version that the report was of
	Text    jsontext.Value // the report; the very bytes that were given where nothing had to change
	Notices notice.List    // one for each change, in the order of the report
}

// Report brings the text of a report to the present version. A version that is not known is a
// *find.ReadError, as is what is no report. The text is read whole.
func Report(text []byte) (*Result, error) {
	report, err := parse(bytes.TrimPrefix(text, []byte("\ufeff")))
	if err != nil {
		return nil, explain(err)
	}
	version, ok := report.text("findslip")
	if !ok {
		return nil, &find.ReadError{Code: "not-a-report", Msg: `the file is JSON but not a find report: it has no member "findslip"`,
			Help: `a report begins with {"findslip": "1.0"`}
	}
	switch major, _, _ := strings.Cut(version, "."); {
	case version == Draft:
	case major == "1":
		return &Result{From: version, Text: text}, nil
	case major == "0":
		return nil, unknown("the report is of a draft of the format that this program does not know", "the one draft that it reads is "+Draft)
	default:
		return nil, unknown("the report is of a later version of the format than this program knows", "it reads "+Draft+" and every 1.x; get a newer program for this file")
	}
	u := &upgrader{}
	u.say(versionUpgraded, "/findslip", "the report was of version "+Draft+" and is of "+find.Version+" now")
	report.set("findslip", jsontext.Value(quote(find.Version)))
	u.rename(report, "", "licence", "reuse")
	if err := u.each(report, "finds", "", u.find); err != nil {
		return nil, err
	}
	return &Result{From: Draft, Text: report.value(), Notices: u.notices}, nil
}

// explain says what is wrong with a text that is not JSON.
func explain(err error) error {
	if e := find.ExplainJSON(err); e != nil {
		return e
	}
	return &find.ReadError{Code: "json-syntax", Msg: "the text is not one JSON object", Help: "look whether the right file was given, and whether it is whole"}
}

func unknown(what, help string) error {
	return &find.ReadError{Code: "version-unknown", Msg: what, Help: help}
}

// upgrader collects what is said.
type upgrader struct {
	notices notice.List
	label   string // of the find that is looked at
}

func (u *upgrader) say(kind *notice.Kind, pointer, message string) {
	n := notice.New(kind, pointer, message)
	n.Find = u.label
	u.notices.Add(n)
}

// find brings one record to the present version.
func (u *upgrader) find(f *object, at string) error {
	u.label, _ = f.text("label")
	if u.label == "" {
		u.label, _ = f.text("id")
	}
	defer func() { u.label = "" }()
	u.rename(f, at, "label", "number")
	if v, ok := f.get("depth"); ok && v.Kind() == '{' {
		if o, err := parse(v); err == nil && u.depth(o, at+"/depth") {
			f.set("depth", o.value())
		}
	}
	return u.each(f, "otherDepths", at, func(o *object, at string) error {
		u.depth(o, at)
		return nil
	})
}

// each goes over the objects of a list and puts them back.
func (u *upgrader) each(in *object, name, at string, one func(*object, string) error) error {
	list, ok := in.get(name)
	if !ok || list.Kind() != '[' {
		return nil
	}
	dec := jsontext.NewDecoder(bytes.NewReader(list))
	if _, err := dec.ReadToken(); err != nil {
		return explain(err)
	}
	out := []byte{'['}
	for i := 0; dec.PeekKind() != ']'; i++ {
		v, err := dec.ReadValue()
		if err != nil {
			return explain(err)
		}
		if i > 0 {
			out = append(out, ',')
		}
		if v.Kind() != '{' {
			out = append(out, v...)
			continue
		}
		o, err := parse(v)
		if err != nil {
			return explain(err)
		}
		if err := one(o, fmt.Sprintf("%s/%s/%d", at, name, i)); err != nil {
			return err
		}
		out = append(out, o.value()...)
	}
	in.set(name, append(out, ']'))
	return nil
}

// rename gives a member its new name, unless there is one of that name.
func (u *upgrader) rename(o *object, at, from, to string) {
	if _, ok := o.get(from); !ok {
		return
	}
	if _, there := o.get(to); there {
		u.say(unclear, at+"/"+from, fmt.Sprintf("%q is called %q now, and there is one of that name already", from, to))
		return
	}
	o.rename(from, to)
	u.say(memberRenamed, at+"/"+to, fmt.Sprintf("this was called %q", from))
}
