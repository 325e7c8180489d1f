// Package law holds the published table of law and safety practice (schema/data/law.json) and answers what may apply
// in a place on a day. It knows no find and no report: the rules of package validate ask it, and say what it answers.
package law

import (
	"cmp"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/schema"
)

// Table is schema/data/law.json: what the law of a place and common safety practice may ask.
type Table struct {
	Checked     string                 `json:"checked"`     // the day on which the rows were carried over
	Earlier     string                 `json:"earlier"`     // the day of reading of rows that have none of their own
	Groups      map[string][]string    `json:"groups"`      // EU to its members
	Parts       map[string][]string    `json:"parts"`       // a country to the parts that have laws of their own
	Fallback    []string               `json:"fallback"`    // rows that fall silent beside one of a narrower place
	Calls       map[string]string      `json:"calls"`       // whom to call in danger, by country; ZZ: anywhere
	Grounds     []Ground               `json:"grounds"`     // by what a kind of ground is told
	Inland      []string               `json:"inland"`      // land use that is neither shore nor water
	Cultures    map[string]*phrase.Set `json:"-"`           // words of a culture
	Export      *phrase.Set            `json:"-"`           // words that an object leaves the country
	Military    *phrase.Set            `json:"-"`           // words of military things
	Radioactive *phrase.Set            `json:"-"`           // words of luminous dials and the like
	Prehistoric []string               `json:"prehistoric"` // labels and ids of periods, lower case
	Hoard       Hoard                  `json:"hoard"`       // words, by what they say of coins that may be a hoard
	Rows        []Row                  `json:"rows"`

	rules  map[string][]*Row            // by what they ask
	places *memo.Memo[struct{}, *Place] // all that is asked often, by place
}

// Ground is by what a kind of ground is told: words of a place, and codes.
type Ground struct {
	Name    string   `json:"ground"`
	Listed  []string `json:"words"`
	LandUse []string `json:"landUse"`
	Methods []string `json:"methods"`
	Layers  []string `json:"layers"`

	Words *phrase.Set `json:"-"`
}

// Hoard is the words that tell old coins of silver and gold, and that somebody was told of them.
type Hoard struct {
	Old      *phrase.Set `json:"-"`
	Precious *phrase.Set `json:"-"`
	Told     *phrase.Set `json:"-"`
	untold   *phrase.Set // those of Told behind a no
	Coins    *phrase.Set `json:"-"` // more than one
	Together *phrase.Set `json:"-"`

	Gold       []string // countries in which any old find of gold is to be reported
	GoldThings []string // the same of what is no coin
	Anything   []string // places in which any old find is to be reported

	Steps     []Step      // headings that are a step of reporting
	steps     *phrase.Set // by their words
	yes, none *phrase.Set

	Beside *regexp.Regexp `json:"-"` // that another find lay with this one: its number is the first group
}

// A Step is a heading under which people note whether a find was reported, and where such a heading is in use.
type Step struct {
	Words []string `json:"words"`
	In    string   `json:"in"` // empty: in more than one country
}

// StepUnder returns the step of reporting that a heading is, and whether the cell below it says that it was taken
// (Yes, by a word or a day), or that it was not; nil: it is no such heading.
func (h *Hoard) StepUnder(heading, cell string) (*Step, Answer) {
	tag, n := h.steps.At(heading)
	if n == 0 {
		return nil, CannotTell
	}
	_, yes := h.yes.At(cell)
	_, no := h.none.At(cell)
	switch {
	case no > 0:
		return &h.Steps[tag], No
	case yes > 0 && h.Told.Has(heading) || h.SaysTold(cell) || cell != "" && cell[0] >= '0' && cell[0] <= '9':
		return &h.Steps[tag], Yes
	}
	return &h.Steps[tag], CannotTell
}

// SaysTold reports whether a text says that somebody was told.
func (h *Hoard) SaysTold(text string) bool { return h.Told.Has(text) && !h.untold.Has(text) }

// setOf makes a set of words.
func setOf(words []string) *phrase.Set {
	set := phrase.New()
	set.Add(0, words...)
	return set
}

// UnmarshalJSON makes the sets of the lists of words.
func (h *Hoard) UnmarshalJSON(b []byte) error {
	var lists struct {
		Old, Precious, Told, Not, Coins, Together, Beside, Gold, GoldThings, Yes, No, Anything []string
		Steps                                                                                  []Step
	}
	if err := json.Unmarshal(b, &lists, json.MatchCaseInsensitiveNames(true)); err != nil {
		return err
	}
	*h = Hoard{Old: setOf(lists.Old), Precious: setOf(lists.Precious), Told: setOf(lists.Told), Coins: setOf(lists.Coins),
		Together: setOf(lists.Together), untold: phrase.New(), Gold: lists.Gold, GoldThings: lists.GoldThings,
		Anything: lists.Anything, Steps: lists.Steps, steps: phrase.New(), yes: setOf(lists.Yes), none: setOf(lists.No)}
	for i := range h.Steps {
		h.steps.Add(i, h.Steps[i].Words...)
	}
	for _, no := range lists.Not {
		for _, told := range lists.Told {
			h.untold.Add(0, no+" "+told)
		}
	}
	for i := range lists.Beside {
		lists.Beside[i] = regexp.QuoteMeta(lists.Beside[i])
	}
	beside, err := regexp.Compile(`(?i)(?:` + strings.Join(lists.Beside, "|") +
		`)[\s.:°º]*(?:no\.?|nr\.?|n[°º]|#|find|fund|number)?\s*([[:alpha:]]{0,4}[-/ ]?\d[\w/-]*)`)
	h.Beside = beside
	return err
}

// Read reads the table.
func Read() (*Table, error) {
	table, err := schema.Table[Table]("law")
	t := &table
	words, err2 := schema.Table[struct {
		Cultures map[string][]string `json:"cultures"`
		Export   []string            `json:"export"`
		Military []string            `json:"military"`
		Radium   []string            `json:"radioactive"`
	}]("law")
	if err == nil {
		err = err2
	}
	t.Export, t.Military, t.Radioactive = setOf(words.Export), setOf(words.Military), setOf(words.Radium)
	t.Cultures = map[string]*phrase.Set{}
	for culture, list := range words.Cultures {
		t.Cultures[culture] = setOf(list)
	}
	for i := range t.Grounds {
		t.Grounds[i].Words = setOf(t.Grounds[i].Listed)
	}
	t.rules = map[string][]*Row{}
	for i := range t.Rows {
		r := &t.Rows[i]
		r.prepare(t)
		t.rules[r.Asks] = append(t.rules[r.Asks], r)
	}
	t.places = memo.New(func(k memo.Key[struct{}]) *Place { return t.sortedOut(k.Text) })
	return t, err
}

// Ground returns the place of a kind of ground in Grounds, or -1.
func (t *Table) Ground(name string) int {
	return slices.IndexFunc(t.Grounds, func(g Ground) bool { return g.Name == name })
}

// Asking returns the rows of a rule, in the order of the table.
func (t *Table) Asking(rule string) []*Row { return t.rules[rule] }

// InGroup reports whether a country belongs to a group of countries.
func (t *Table) InGroup(group, country string) bool {
	return slices.Contains(t.Groups[group], country)
}

// Holds reports whether a row holds in a place. A row for a country holds in its parts; whether a row
// for a part holds cannot be told where only the country, or a district of it, is stated.
func (t *Table) Holds(r *Row, place string) Answer {
	if place == "" {
		return No
	}
	country, _, _ := strings.Cut(place, "-")
	part := slices.Contains(t.Parts[country], place) || t.Parts[country] == nil && place != country
	result := No
	for _, j := range r.Jurisdictions {
		switch {
		case j == place, j == country, t.InGroup(j, country):
			return Yes
		case !part && len(j) > len(country) && j[:len(country)] == country && j[len(country)] == '-':
			result = CannotTell
		}
	}
	return result
}

// Row returns the first row of a rule that may hold in a place, and the one for anywhere (ZZ) if
// there is no other.
func (t *Table) Row(rule, place string) *Row {
	var anywhere *Row
	for _, r := range t.rules[rule] {
		if t.Holds(r, place) != No {
			return r
		}
		if slices.Contains(r.Jurisdictions, "ZZ") && anywhere == nil {
			anywhere = r
		}
	}
	return anywhere
}

// Known reports whether there is any row of law for a place, beyond what holds anywhere.
func (t *Table) Known(place string) bool {
	for i := range t.Rows {
		r := &t.Rows[i]
		if r.Topic != "ordnance" && !slices.Contains(r.Jurisdictions, "ZZ") && !slices.Contains(r.Jurisdictions, "EU") &&
			t.Holds(r, place) != No {
			return true
		}
	}
	return false
}

// Call names whom to call in danger in a place: a number only where the table has it from a source.
func (t *Table) Call(place string) string {
	country, _, _ := strings.Cut(place, "-")
	for _, at := range [...]string{country, "EU", "ZZ"} {
		if call := t.Calls[at]; call != "" && (at != "EU" || t.InGroup("EU", country)) {
			return call
		}
	}
	return "the police"
}

// Place is what the table of law holds for one place, sorted out for the rules that every find is
// asked by.
type Place struct {
	Code  string // of the place, ISO 3166
	Known bool   // there is a row beyond what holds anywhere

	rows map[string][]HeldRow // by what they ask
}

// HeldRow is a row that holds in a place, or may hold.
type HeldRow struct {
	*Row
	Holds Answer
}

// Of returns the law of a place.
func (t *Table) Of(place string) *Place {
	return t.places.Of(memo.Key[struct{}]{Text: place})
}

func (t *Table) sortedOut(place string) *Place {
	p := &Place{Code: place, Known: t.Known(place), rows: map[string][]HeldRow{}}
	for i := range t.Rows {
		r := &t.Rows[i]
		if slices.Contains(r.Jurisdictions, "ZZ") {
			continue // said by the rules of danger alone
		}
		if holds := t.Holds(r, place); holds != No {
			p.rows[r.Asks] = append(p.rows[r.Asks], HeldRow{r, holds})
		}
	}
	return p
}

// Has reports whether any row of a rule holds or may hold in the place, on whatever day.
func (p *Place) Has(rule string) bool { return len(p.rows[rule]) > 0 }

// On returns the rows of a rule that hold in the place, or may, on a day of a find, in the order of the table. The
// days are the first and the last on which it may have been made; zero ones stand for any. A row that is only a
// fallback falls silent beside one of a narrower place.
func (p *Place) On(rule string, first, last edtf.Day) []HeldRow {
	rows := p.rows[rule]
	keep := func(r *HeldRow) bool {
		if !r.inForce(first, last) {
			return false
		}
		if !r.fallback {
			return true
		}
		return !slices.ContainsFunc(rows, func(other HeldRow) bool {
			return !other.fallback && other.Holds == Yes && other.inForce(first, last)
		})
	}
	for i := range rows {
		if !keep(&rows[i]) {
			var out []HeldRow
			for j := range rows {
				if keep(&rows[j]) {
					out = append(out, rows[j])
				}
			}
			return out
		}
	}
	return rows
}

// Answer is yes, no, or that the record does not tell.
type Answer uint8

// The answers. The zero value is that it cannot be told.
const (
	CannotTell Answer = iota
	No
	Yes
)

// And is the answer to two conditions that must both hold.
func (a Answer) And(b Answer) Answer {
	switch {
	case a == No || b == No:
		return No
	case a == Yes && b == Yes:
		return Yes
	}
	return CannotTell
}

// Or is the answer to two conditions of which one must hold.
func (a Answer) Or(b Answer) Answer {
	switch {
	case a == Yes || b == Yes:
		return Yes
	case a == No && b == No:
		return No
	}
	return CannotTell
}

// Is is Yes or No.
func Is(b bool) Answer {
	if b {
		return Yes
	}
	return No
}

// Row is one thing that may apply in some places.
type Row struct {
	ID            string     `json:"id"`
	Jurisdictions []string   `json:"jurisdictions"`
	Topic         string     `json:"topic"`
	Asks          string     `json:"asks"` // the rule of the validator that it feeds; empty: told beside another
	Rule          string     `json:"rule"` // one sentence
	Ask           string     `json:"ask"`  // who is asked or told
	Deadline      string     `json:"deadline"`
	DeadlineWords string     `json:"deadlineWords"`
	DeadlineFrom  string     `json:"deadlineFrom"`
	Applies       Conditions `json:"applies"`
	Instrument    string     `json:"instrument"`
	Section       string     `json:"section"`
	SourceTitle   string     `json:"sourceTitle"`
	SourceKind    string     `json:"sourceKind"`
	Seen          string     `json:"seen"` // yes, partly, memory
	SeenBy        string     `json:"seenBy"`
	SeenOn        string     `json:"seenOn"`
	TextAsOf      string     `json:"textAsOf"`
	From          string     `json:"from"` // in force, where known
	To            string     `json:"to"`
	Standing      string     `json:"standing"` // law, or what to say in its place
	Note          string     `json:"note"`

	first, last edtf.Day // of being in force; zero: not known
	looked      edtf.Day // when it was last looked at; zero: never
	fallback    bool
}

// Conditions say to what a row applies: all that are given must hold, AnyOf one of its own, OrGround in place of Near
// or Words.
type Conditions struct {
	Any                bool         `json:"any"`
	Class              []string     `json:"class"`
	NotClass           []string     `json:"notClass"`
	Use                string       `json:"use"`
	Material           []string     `json:"material"`
	AnyPart            bool         `json:"anyPart"`
	AnyPrecious        bool         `json:"anyPrecious"`
	PreciousMainly     bool         `json:"preciousMainly"`
	PreciousPercentMin int          `json:"preciousPercentMin"`
	AgeYearsMin        int          `json:"ageYearsMin"`
	AgeYearsMax        int          `json:"ageYearsMax"`
	MadeBefore         int          `json:"madeBefore"`
	Period             string       `json:"period"`
	Culture            string       `json:"culture"`
	FoundFrom          string       `json:"foundFrom"`
	FoundTo            string       `json:"foundTo"`
	LandAcquiredFrom   string       `json:"landAcquiredFrom"`
	SameFind           []string     `json:"sameFind"`
	SameFindMin        int          `json:"sameFindMin"`
	SameFindAs         []string     `json:"sameFindAs"`
	DepthMmOver        int          `json:"depthMmOver"`
	Near               string       `json:"near"`
	WithinM            int          `json:"withinM"`
	Ground             []string     `json:"ground"`
	OrGround           []string     `json:"orGround"`
	Activity           []string     `json:"activity"`
	Purpose            string       `json:"purpose"`
	Archaeological     bool         `json:"archaeological"`
	Suspected          string       `json:"suspected"`
	NotSuspected       string       `json:"notSuspected"`
	NotReported        bool         `json:"notReported"`
	Permission         string       `json:"permission"`
	Owner              string       `json:"owner"`
	Flag               string       `json:"flag"`
	HiddenOnPurpose    bool         `json:"hiddenOnPurpose"`
	Surface            bool         `json:"surface"`
	Wreck              bool         `json:"wreck"`
	Words              []string     `json:"words"`
	AnyOf              []Conditions `json:"anyOf"`
}

// prepare reads the days of a row once.
func (r *Row) prepare(t *Table) {
	r.first = dayOf(cmp.Or(r.From, r.Applies.FoundFrom), false)
	r.last = dayOf(cmp.Or(r.To, r.Applies.FoundTo), true)
	if r.Seen != "memory" {
		r.looked = dayOf(cmp.Or(r.SeenOn, t.Earlier), false)
	}
	r.fallback = slices.Contains(t.Fallback, r.ID)
}

// dayOf returns the first, or the last, day of an EDTF date.
func dayOf(text string, last bool) edtf.Day {
	d, err := edtf.Parse(text)
	if text == "" || err != nil {
		return edtf.Day{}
	}
	from, to, _, _ := d.Span()
	if last {
		return to
	}
	return from
}

// inForce reports whether a row may be in force on one of the days of a find.
func (r *Row) inForce(first, last edtf.Day) bool {
	if !r.first.IsZero() && !last.IsZero() && last.Compare(r.first) < 0 {
		return false
	}
	return r.last.IsZero() || first.IsZero() || first.Compare(r.last) <= 0
}

// IsLaw reports whether a row may be told as law: its words were read. Any other is only a thing to ask.
func (r *Row) IsLaw() bool { return r.Standing == "law" }

// Days returns how many days after that of the find a time limit ends, the first of them the day after; false where
// it names none, or counts from something else. Hours are taken as days.
func (r *Row) Days() (n int, ok bool) {
	switch from := r.DeadlineFrom; {
	case strings.HasPrefix(from, "find"), strings.HasPrefix(from, "day after the find"),
		strings.HasPrefix(from, "discovery"),
		strings.HasPrefix(from, "time of the finding"), strings.HasPrefix(from, "making the find"):
	default:
		return 0, false
	}
	digits, unit := strings.TrimLeft(r.Deadline, "PT"), 1
	switch {
	case strings.HasPrefix(r.Deadline, "PT") && strings.HasSuffix(digits, "H"):
		unit = 24
	case !strings.HasSuffix(digits, "D"):
		return 0, false
	}
	n, err := strconv.Atoi(digits[:len(digits)-1])
	return (n + unit - 1) / unit, err == nil && n > 0
}

// Time is the time limit as the row puts it.
func (r *Row) Time() string { return r.DeadlineWords }

// yearOf days after which a reading is old.
const yearOfDays = 365

// Words writes a row for a message, as of a day: what may apply, whom to ask, where it is written, what was seen of
// it and when. What was not read is never told as law.
func (r *Row) Words(today edtf.Day) string {
	var b strings.Builder
	if r.IsLaw() {
		b.WriteString("This may apply: " + r.Rule)
	} else {
		b.WriteString("Ask whether this holds, which is " + r.doubt() + ": " + r.Rule)
	}
	if r.Ask != "" {
		b.WriteString(" Ask: " + r.Ask + ".")
	}
	if r.DeadlineWords != "" {
		b.WriteString(" Time: " + r.DeadlineWords + ".")
	}
	return b.String() + " Source: " + r.Written(today) + "."
}

// doubt says why a row is not told as law.
func (r *Row) doubt() string {
	for part := range strings.SplitSeq(r.Standing, ";") {
		if part = strings.TrimSpace(part); part != "ask the authority" {
			return part
		}
	}
	return "not verified"
}

// Written names where a row is written, what of it was seen, and when.
func (r *Row) Written(today edtf.Day) string {
	s := r.Instrument
	if s == "" {
		s = "common practice"
	}
	if r.Section != "" {
		s += ", " + r.Section
	}
	switch {
	case r.Seen == "memory":
		return s + " (from memory, not read)"
	case r.Seen == "partly":
		s += " (read in part"
	default:
		s += " (read"
	}
	s += " on " + r.looked.String()
	if !today.IsZero() && today.Compare(r.looked.AddDays(yearOfDays)) > 0 {
		s += ", over a year ago: ask whether it still holds"
	}
	if !r.IsLaw() {
		s += "; " + r.doubt()
	}
	return s + ")"
}

// Looked is the day on which a row was last looked at; empty for one from memory.
func (r *Row) Looked() string {
	if r.looked.IsZero() {
		return ""
	}
	return r.looked.String()
}
