// Package share makes copies of a find report for others: it withholds and makes coarser what an
// audience may not see, says so in the record, and looks through the finished bytes for leaks.
//
//	copy, err := share.Copy(ctx, report, share.Options{Audience: share.Public})
//	leaks, err := share.Leaks(ctx, data, report, copy.Report, share.Public, limit.Limits{})
//
// # Terms
//
// Every leaf of a report has a sharing class, and the table (schema/data/sharing.json) says what each
// audience gets of each class; a leaf that is not in the table is withheld. The finder can make the table
// stricter in a file (ReadPolicy). A cell is a square of the one fixed grid of degrees with its origin at 0;
// all finds of a piece of land stand in one cell. Nothing is ever moved at random: the mean of many random
// copies would give the place away. What was told before stands in the register (package register).
//
// This package is unstable: it may change between any two versions.
package share

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/aside"
	"github.com/findslip/findslip/pkg/limit"
)

// A Policy is what a finder tells an audience less of than the published table does, which words of names
// may be told, and which pieces of land are one. Nil is the table.
type Policy struct {
	Title  string
	Words  []string   // names of finds that the owner passes for everybody
	Lands  [][]string // permissions that are one land, by the names of the land or by local ids
	leaves map[string]map[Audience]string
}

// action returns what is to be done with a leaf.
func (p *Policy) action(leaf string, a Audience) string {
	if p != nil && a != Self {
		if act := p.leaves[leaf][a]; act != "" {
			return act
		}
	}
	return published().action(leaf, a)
}

// action is the same in one copy.
func (c *copier) action(leaf string) string {
	if c.unshown[leaf] {
		return withhold
	}
	return c.o.Policy.action(leaf, c.o.Audience)
}

// Pass is a policy that lets some words go as well, which the owner has seen.
func (p *Policy) Pass(words string) *Policy {
	out := &Policy{}
	if p != nil {
		*out = *p
	}
	out.Words = append(slices.Clone(out.Words), words)
	return out
}

// policyVersion is the version of the format of a policy file.
const policyVersion = "1"

const policySpecimen = `{"findslipPolicy": "1", "members": [{"member": "notes", "recorder": "withhold"}]}`

// ReadPolicy reads the policy of a finder (schema/policy.schema.json). A row names a class of the table, a
// leaf, or a member with all its leaves, and takes along what is derived from it: the day of finding
// takes the days of outings and of pictures. It refuses what it does not know, and whatever would show more
// than the published table. Of the limits Side is looked at.
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
		Words   []string            `json:"words"`
		Lands   [][]string          `json:"lands"`
	}
	if err := aside.Read(raw, &file); err != nil {
		return nil, fmt.Errorf("the policy cannot be read: %w; a policy looks like %s", err, policySpecimen)
	}
	if file.Version != policyVersion {
		return nil, fmt.Errorf("the policy is of version %q, and this program reads %q: write \"findslipPolicy\": %q",
			file.Version, policyVersion, policyVersion)
	}
	p := &Policy{Title: file.Title, Words: file.Words, Lands: file.Lands, leaves: map[string]map[Audience]string{}}
	seen := map[string]bool{}
	for i, row := range file.Members {
		if seen[row["member"]] {
			return nil, errors.New("the policy has two rows for one member: put them together")
		}
		seen[row["member"]] = true
		if err := p.row(row); err != nil {
			return nil, fmt.Errorf("row %d of the policy: %w", i+1, err)
		}
	}
	for _, a := range Audiences() {
		if p.action("finds.number", a) == withhold && p.action("finds.name", a) == withhold {
			return nil, fmt.Errorf("the policy withholds both number and name from %s: a find keeps one of them, so that "+
				"people can speak of it", a)
		}
	}
	return p, nil
}

// row takes one row of a policy.
func (p *Policy) row(row map[string]string) error {
	member := row["member"]
	leaves := policyLeaves(member)
	if len(leaves) == 0 {
		return fmt.Errorf("%q is no member of a find, and no class of the table", member)
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
		if err := p.stricter(member, leaves, a, action); err != nil {
			return err
		}
	}
	return nil
}

// policyLeaves are the leaves that a row of a policy speaks of.
func policyLeaves(member string) (out []string) {
	t := published()
	for _, leaf := range leavesOf() {
		for _, from := range []string{member, "finds." + member} {
			if leaf == from || strings.HasPrefix(leaf, from+".") {
				out = append(out, leaf)
			}
		}
		if t.leaves[leaf] == member || slices.Contains(t.along[member], t.leaves[leaf]) {
			out = append(out, leaf)
		}
	}
	return out
}

// fixed are leaves that a policy leaves alone: ids tie a copy together, marks say what was done to it, and
// whoever handles a thing must know that it is dangerous.
var fixed = []string{"id", "marks", "safety", "label", "private"}

// stricter notes what one audience gets of some leaves. Where an action means nothing to a leaf that goes
// along, such as a month to words, that leaf is withheld.
func (p *Policy) stricter(member string, leaves []string, a Audience, action string) error {
	t := published()
	did := false // something is as it was asked for, and not only goes along
	for _, leaf := range leaves {
		class, have := t.leaves[leaf], t.action(leaf, a)
		if slices.Contains(fixed, class) || have == withhold && action != keep {
			did = did || have == withhold && action == withhold
			continue
		}
		ladder := t.ladders[class]
		if len(ladder) == 0 {
			ladder = []string{keep, withhold}
		}
		now, want := slices.Index(ladder, have), slices.Index(ladder, action)
		switch {
		case action == have:
			did = true
			continue
		case action == keep:
			return fmt.Errorf("%s as %q would show %s more than the published table; a policy can only be stricter", member,
				action, a)
		case action == codes && !wordsClass(class):
			continue
		case want >= 0 && want < now:
			return fmt.Errorf("%s as %q would show %s more than the published table, which says %s; a policy can only be "+
				"stricter", member, action, a, have)
		case want < 0 && !slices.Contains([]string{codes, month, year, cell, cellOne, district, band, step, withhold},
			action):
			return fmt.Errorf("%s cannot be %q; it can be %s", member, action, strings.Join(ladder[max(now, 0):], ", "))
		case want < 0 && action != codes:
			p.set(leaf, a, withhold) // what only goes along
		default:
			if did = true; action == codes {
				p.set(leaf, a, withhold)
			} else {
				p.set(leaf, a, action)
			}
		}
	}
	if !did {
		return fmt.Errorf("what happens to %s cannot be made %q for %s", member, action, a)
	}
	return nil
}

func (p *Policy) set(leaf string, a Audience, action string) {
	if p.leaves[leaf] == nil {
		p.leaves[leaf] = map[Audience]string{}
	}
	p.leaves[leaf][a] = action
}

// wordsClass reports whether a class holds words of people.
func wordsClass(class string) bool {
	return strings.HasSuffix(class, "-words") || strings.HasSuffix(class, "-note") || class == "description" ||
		class == "mark-text"
}

// Audience is for whom a copy is made.
type Audience string

// The audiences.
const (
	Self      Audience = "self"
	Partner   Audience = "partner"
	Club      Audience = "club"
	Landowner Audience = "landowner"
	Expert    Audience = "expert"
	Recorder  Audience = "recorder"
	Public    Audience = "public"
)

// Audiences returns all audiences.
func Audiences() []Audience {
	return []Audience{Self, Partner, Club, Landowner, Expert, Recorder, Public}
}

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

// answers reports whether what comes back from an audience is taken up into the log.
func (a Audience) answers() bool { return a != Public && a != Self }

// DayTold is the day on which a copy, or what goes with it, says that it was made: for public, expert and club the
// first of the month, for the days of two copies tell when what is new in one was found.
func (a Audience) DayTold(day string) string {
	if !a.coarse() || len(day) < len("2026-07-01") {
		return day
	}
	return day[:8] + "01"
}

// monthTold is that day for people: without a day of the month where it is no day on which anything was made.
func (a Audience) monthTold(day string) string {
	if told := a.DayTold(day); a.coarse() && len(told) == len("2026-07-01") {
		return told[:7]
	}
	return day
}

// coarse reports whether an audience sees no exact place.
func (a Audience) coarse() bool { return a == Public || a == Expert || a == Club }

// strangers reports whether an audience may be anybody: what it reads may be put beside anything.
func (a Audience) strangers() bool { return a == Public || a == Expert }

// keyed makes the ids of a copy. They are made with the secret of the register, for one audience and one
// receiver, so that nobody can work them out from what stands in a record, nor tell that two copies for
// different receivers hold one find.
type keyed struct {
	o      Options
	report string // id of the source
}

// urn is the id of an object of the source in the copy.
func (k keyed) urn(object string) string {
	return k.o.Register.CopyID(string(k.o.Audience), k.o.Receiver, strings.ToValidUTF8(object, "\uFFFD"))
}

// find is the id of a find.
func (k keyed) find(id string) string {
	if k.o.OwnIDs {
		return id
	}
	return k.urn(id)
}

// short is a local id: a word, and digits of a keyed id.
func (k keyed) short(kind, id string) string {
	if k.o.OwnIDs && kind != "picture" {
		return id
	}
	urn := strings.ReplaceAll(strings.TrimPrefix(k.urn(k.report+"#"+kind+"#"+id), "urn:uuid:"), "-", "")
	return kind + "-" + urn[:12]
}

// link makes the id anew that a leaf holds.
func (k keyed) link(leaf, id string) string {
	if find.IsURN(id) {
		return k.find(id)
	}
	return k.short(kindOfLink(leaf), id)
}

// kindOfLink says what the local id in a leaf names.
func kindOfLink(leaf string) string {
	switch leaf {
	case "permissions.id", "outings.permission", "finds.permission":
		return "permission"
	case "outings.id", "finds.outing":
		return "outing"
	case "finds.opinions.id", "finds.opinions.withdraws", "finds.identification.follows":
		return "opinion"
	case "finds.id", "finds.partOf", "finds.associated.find", "finds.replaces":
		return "find"
	}
	return "person"
}

// checkOwnIDs refuses to hand on ids that tell the name of a file, or words of a log.
func (c *copier) checkOwnIDs() error {
	if !c.o.OwnIDs {
		return nil
	}
	if c.o.Audience != Recorder {
		return fmt.Errorf("your own ids go to a recorder only, not to %s", c.o.Audience)
	}
	if c.head.IDBasis != "" {
		return fmt.Errorf("the ids of this log are made from the name of its file, which they would give away: give the " +
			"log an id of its own first (findslip columns keeps one), or leave --own-ids out")
	}
	if slices.ContainsFunc(c.finds, func(f fact) bool { return f.unnumbered }) {
		return fmt.Errorf("a find without a number has an id that is made from its words, which it would give away: number " +
			"it, or leave --own-ids out")
	}
	return nil
}
