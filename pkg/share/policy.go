// Package share makes copies of a find report for others: it withholds and makes coarser what an
// audience may not see, says so in the record, and looks through the finished bytes for leaks.
//
//	copy, err := share.Copy(ctx, report, share.Options{Audience: share.Public})
//	leaks, err := share.Leaks(ctx, data, report, copy.Report, share.Public, limit.Limits{})
//
// # Terms
//
// The policy is a table of members by audience (schema/data/sharing.json), which the finder can make
// stricter in a file (ReadPolicy). A cell is a square of
// the one fixed grid of degrees with its origin at 0; a position in it becomes its centre. Nothing
// is ever moved at random: the mean of many random copies would give the place away.
//
// This package is unstable: it may change between any two versions.
package share

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/internal/aside"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/schema"
)

// Audience is for whom a copy is made.
type Audience string

// The audiences.
const (
	Self      Audience = "self"
	Partner   Audience = "partner"
	Landowner Audience = "landowner"
	Expert    Audience = "expert"
	Recorder  Audience = "recorder"
	Public    Audience = "public"
)

// Audiences returns all audiences.
func Audiences() []Audience { return []Audience{Self, Partner, Landowner, Expert, Recorder, Public} }

// ParseAudience reads the name of an audience.
func ParseAudience(s string) (Audience, error) {
	if slices.Contains(Audiences(), Audience(s)) {
		return Audience(s), nil
	}
	var names []string
	for _, a := range Audiences() {
		names = append(names, string(a))
	}
	return "", fmt.Errorf("audience %q is not one of %s", s, strings.Join(names, ", "))
}

// The actions of the policy.
const (
	keep     = "keep"
	withhold = "withhold"
	drop     = "drop"
	codes    = "codes"
	cell     = "cell"
	cellTen  = "cell-0.1"
	cellOne  = "cell-1"
	region   = "region"
	month    = "month"
	year     = "year"
	band     = "plough-band"
	renumber = "renumber"
)

// published is the table: member to audience to action.
var published = sync.OnceValue(func() map[string]map[Audience]string {
	raw, err := schema.Data.ReadFile("data/sharing.json")
	if err != nil {
		return nil
	}
	var file struct {
		Members []map[string]string `json:"members"`
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		return nil // the test of the table fails; a copy then drops everything
	}
	return rows(file.Members)
})

func rows(members []map[string]string) map[string]map[Audience]string {
	out := map[string]map[Audience]string{}
	for _, row := range members {
		actions := map[Audience]string{}
		for name, action := range row {
			if name != "member" {
				actions[Audience(name)] = action
			}
		}
		out[row["member"]] = actions
	}
	return out
}

// A Policy is what a finder tells an audience less of than the published table does. Nil is that
// table.
type Policy struct {
	Title    string
	stricter map[string]map[Audience]string
}

// action returns what is to be done with a member; what the table does not know is dropped.
func (p *Policy) action(member string, a Audience) string {
	if a == Self {
		return keep
	}
	if p != nil {
		if act := p.stricter[member][a]; act != "" {
			return act
		}
	}
	if act := published()[member][a]; act != "" {
		return act
	}
	return drop
}

// policyVersion is the version of the format of a policy file.
const policyVersion = "1"

// ReadPolicy reads the policy of a finder (schema/policy.schema.json). It refuses what it does not
// know, and whatever would show more than the published table. Of the limits Side is looked at.
//
//	{"findslipPolicy": "1", "members": [{"member": "notes", "recorder": "withhold"}]}
func ReadPolicy(r io.Reader, limits limit.Limits) (*Policy, error) {
	raw, err := limit.ReadAll(r, "side", limits.WithDefaults().Side)
	if err != nil {
		return nil, fmt.Errorf("reading the policy: %w", err)
	}
	var file struct {
		Version string              `json:"findslipPolicy"`
		Title   string              `json:"title"`
		Members []map[string]string `json:"members"`
	}
	if err := aside.Read(raw, &file); err != nil {
		return nil, fmt.Errorf("the policy cannot be read: %w; a policy looks like %s", err, policySpecimen)
	}
	if file.Version != policyVersion {
		return nil, fmt.Errorf("the policy is of version %q, and this program reads %q: write \"findslipPolicy\": %q", file.Version, policyVersion, policyVersion)
	}
	for i, row := range file.Members {
		if err := stricter(row); err != nil {
			return nil, fmt.Errorf("row %d of the policy: %w", i+1, err)
		}
	}
	p := &Policy{Title: file.Title, stricter: rows(file.Members)}
	for _, a := range Audiences() {
		if p.action("number", a) == withhold && p.action("name", a) == withhold {
			return nil, fmt.Errorf("the policy withholds both number and name from %s: a find keeps one of them, so that people can speak of it", a)
		}
	}
	if len(p.stricter) != len(file.Members) {
		return nil, errors.New("the policy has two rows for one member: put them together")
	}
	return p, nil
}

const policySpecimen = `{"findslipPolicy": "1", "members": [{"member": "notes", "recorder": "withhold"}]}`

// stricter tells what is wrong with one row of a policy.
func stricter(row map[string]string) error {
	member := row["member"]
	table, known := published()[member]
	if !known {
		return fmt.Errorf("%q is no member of a find", member)
	}
	if len(row) < 2 {
		return fmt.Errorf("the row of %s names no audience", member)
	}
	for name, action := range row {
		if name == "member" {
			continue
		}
		a, err := ParseAudience(name)
		if err != nil {
			return err
		}
		if a == Self {
			return errors.New("self is the finder, who sees everything")
		}
		ladder := ladderOf(member)
		have, want := slices.Index(ladder, table[a]), slices.Index(ladder, action)
		switch {
		case action == table[a]:
		case have < 0 || len(ladder) == 1:
			return fmt.Errorf("what happens to %s cannot be changed: it is %s for %s", member, table[a], a)
		case want < 0:
			return fmt.Errorf("%s cannot be %q; it can be %s", member, action, strings.Join(ladder[have:], ", "))
		case want < have:
			return fmt.Errorf("%s as %q would show %s more than the published table, which says %s; a policy can only be stricter: %s", member, action, a, table[a], strings.Join(ladder[have:], ", "))
		}
	}
	return nil
}

// ladderOf returns what can be done with a member, from what shows most to what shows nothing.
// What is dropped or renumbered stays so. Ids tie a copy together, absent and generalised say what
// was done to it, and whoever handles a thing must know that it is dangerous.
func ladderOf(member string) []string {
	switch member {
	case "id", "absent", "generalised", "sensitivity", "hazards", "humanRemains", "retracted":
		return []string{keep}
	case "found":
		return []string{keep, codes, month, year, withhold}
	case "place":
		return []string{keep, region, withhold}
	case "position":
		return []string{keep, cell, cellTen, cellOne, withhold}
	case "depth":
		return []string{keep, codes, band, withhold}
	}
	for _, action := range published()[member] {
		if action == codes {
			return []string{keep, codes, withhold}
		}
	}
	return []string{keep, withhold}
}

// withholds tells whether the finder's own policy withholds a member.
func (p *Policy) withholds(member string, a Audience) bool {
	return p != nil && p.stricter[member][a] == withhold
}
