package handover

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/register"
)

// Forgotten says where a person or a piece of land stands, and proposes how the log is mended.
type Forgotten struct {
	Land      bool // false: a person
	Finds     int  // that are theirs, or lie there
	Proposals *Proposals
	Holders   []Holder // who was given something of it
	Look      []string // what only the owner can look through
}

// A Holder is somebody who was given a copy in which it stands, or may stand.
type Holder struct {
	register.Event      // without its finds
	Surely         bool // the name itself was told
	Finds          int  // that are in the copy
}

// ErrNobody says that no person and no land of a log bears a name, and that no words of it do.
var ErrNobody = errors.New("neither a person nor a field of the log has this name, and it stands nowhere in its words")

// Forgetting is from whom proposals are that forget.
const Forgetting = "forget"

// withheldText takes the place of a name in words.
const withheldText = "[withheld]"

// Forget looks for a person or a piece of land, by name, handle or local id, in a log and in what the register
// knows of copies. Nothing is changed: what would mend the log are proposals.
func Forget(log *find.Report, name string, r *register.Register, day string) (*Forgotten, error) {
	f := &forgetter{log: log, out: &Forgotten{Proposals: &Proposals{Version: answersVersion, Private: true,
		Report: log.ID, From: Forgetting, Day: day, Proposals: []Proposal{}, Said: []string{}}}}
	if strings.TrimSpace(name) == "" {
		return nil, fmt.Errorf("say whose name or which field is to be forgotten")
	}
	raw, err := find.Marshal(log)
	if err != nil {
		return nil, err
	}
	f.doc = &node{raw: raw}
	person, land := f.look(name)
	if person >= 0 && land >= 0 {
		return nil, fmt.Errorf("a person and a field have this name: say which by the local id, %s or %s",
			log.People[person].ID, log.Permissions[land].ID)
	}
	if !(person >= 0 && log.People[person].ID == name || land >= 0 && log.Permissions[land].ID == name) {
		f.names = append(f.names, name)
	}
	touched := map[string]bool{}
	switch {
	case person >= 0:
		f.person(person, touched)
	case land >= 0:
		f.out.Land = true
		f.land(land, touched)
	}
	f.words()
	if person < 0 && land < 0 && len(f.out.Proposals.Proposals) == 0 {
		return nil, ErrNobody
	}
	f.out.Finds = len(touched)
	f.holders(r, touched)
	return f.out, nil
}

type forgetter struct {
	log    *find.Report
	doc    *node
	names  []string
	called string         // the person
	alone  *regexp.Regexp // a part of his name by itself
	out    *Forgotten
}

// look finds the person and the land of a name.
func (f *forgetter) look(name string) (person, land int) {
	folded := find.FoldName(name)
	person = slices.IndexFunc(f.log.People, func(p find.Person) bool {
		return p.ID == name || find.FoldName(p.Name) == folded || find.FoldName(p.Handle) == folded
	})
	land = slices.IndexFunc(f.log.Permissions, func(p find.Permission) bool {
		return p.ID == name || p.Place != nil && find.FoldName(p.Place.Name) == folded
	})
	return person, land
}

// person proposes to take out all that says who a person is; the record stays, so that finds of two people stay
// apart.
func (f *forgetter) person(at int, touched map[string]bool) {
	p := &f.log.People[at]
	f.called = p.Name
	for _, name := range []string{p.Name, p.Handle, p.Contact} {
		if name != "" {
			f.names = append(f.names, name)
		}
	}
	f.strip(fmt.Sprintf("/people/%d", at), "", "name, handle and contact of "+cmp.Or(p.Name, p.Handle, p.ID),
		[]string{"name", "handle", "contact", "consents", "columns"}, []string{"name"}, p.Absent)
	for _, one := range f.log.Finds {
		if one.Finder == p.ID || one.Keeper == p.ID {
			touched[one.ID] = true
		}
	}
}

// land proposes to take out where a piece of land is, and where the finds of it lay.
func (f *forgetter) land(at int, touched map[string]bool) {
	p := &f.log.Permissions[at]
	name := ""
	if p.Place != nil {
		name = p.Place.Name
		f.names = append(f.names, name)
	}
	f.strip(fmt.Sprintf("/permissions/%d", at), "", "where "+cmp.Or(name, p.ID)+" is",
		[]string{"place", "area", "excluded", "terms", "documentNumber", "columns"}, []string{"place"}, p.Absent)
	for i, one := range f.log.Finds {
		if one.Permission != p.ID && (one.Place == nil || name == "" ||
			find.FoldName(one.Place.Name) != find.FoldName(name)) {
			continue
		}
		touched[one.ID] = true
		f.strip(fmt.Sprintf("/finds/%d", i), label(one), "where "+label(one)+" lay",
			[]string{"place", "position", "otherPositions", "source"}, []string{"place", "position"}, one.Absent)
		if len(one.Columns) > 0 {
			f.out.Look = append(f.out.Look, label(one)+": columns that no field took")
		}
		if len(one.Media) > 0 {
			f.out.Look = append(f.out.Look, label(one)+": its pictures, which may show the land or hold the place")
		}
	}
}

// strip proposes to take members of a record away, and to say of some that they are withheld.
func (f *forgetter) strip(base, label, says string, members, core []string, absent map[string]string) {
	record := f.doc
	for part := range strings.SplitSeq(strings.TrimPrefix(base, "/"), "/") {
		next, err := record.child(part)
		if err != nil {
			return
		}
		record = next
	}
	if record.open() != nil {
		return
	}
	patch := []Step{{Op: "test", Path: base + "/id", Value: record.members["id"].value()}}
	marks := map[string]string{}
	for _, m := range members {
		value := record.members[m]
		if value == nil {
			continue
		}
		patch = append(patch, Step{Op: "test", Path: base + "/" + m, Value: value.value()},
			Step{Op: "remove", Path: base + "/" + m})
		if slices.Contains(core, m) {
			marks["/"+m] = "withheld"
		}
	}
	if len(patch) == 1 {
		return
	}
	if absent == nil && len(marks) > 0 {
		value, err := json.Marshal(marks, json.Deterministic(true))
		if err != nil {
			return
		}
		patch = append(patch, Step{Op: "add", Path: base + "/absent", Value: value})
	} else {
		for m := range marks {
			if absent[m] == "" {
				patch = append(patch, Step{Op: "add", Path: base + "/absent/" + notice.Escape(m),
					Value: jsontext.Value(`"withheld"`)})
			}
		}
	}
	f.propose(label, says, patch)
}

func (f *forgetter) propose(label, says string, patch []Step) {
	list := &f.out.Proposals.Proposals
	*list = append(*list, Proposal{ID: fmt.Sprintf("f-%04d", len(*list)+1), Find: label, Says: "withhold " + says,
		Patch: patch})
}

// words proposes to take the names out of the words in which they stand.
func (f *forgetter) words() {
	var parts []string
	for _, name := range f.names {
		if words := strings.FieldsFunc(name, notInName); len(words) > 0 && len([]rune(name)) > 2 {
			for i := range words {
				words[i] = regexp.QuoteMeta(words[i])
			}
			parts = append(parts, strings.Join(words, `[\s_,.-]+`)+`(?:['’]?s)?`)
		}
	}
	var alone []string
	for _, w := range strings.FieldsFunc(f.called, notInName) { // Tamsin's, T. Lister, tamsin.lister@example.org
		if r, size := utf8.DecodeRuneInString(w); utf8.RuneCountInString(w) > 2 && unicode.IsUpper(r) {
			rest := regexp.QuoteMeta(w[size:])
			alone = append(alone, string(r)+"(?:"+rest+"|"+strings.ToUpper(rest)+")")
			parts = append(parts, `[^\s@<>;,]*`+regexp.QuoteMeta(w)+`[^\s@<>;,]*@[^\s<>;,]*[\pL\pN]`)
		}
	}
	if len(alone) > 0 {
		f.alone = regexp.MustCompile(`(^|[^\pL\pN])(?:\p{Lu}\.? ?)?(?:` + strings.Join(alone, "|") +
			`)(['’][sS])?($|[^\pL\pN])(\p{Lu}\p{Ll}+)?`)
	}
	if len(parts) == 0 {
		return
	}
	// The longest first: a surname within a whole name goes with it.
	slices.SortFunc(parts, func(a, b string) int { return len(b) - len(a) })
	match := regexp.MustCompile(`(?i)(^|[^\pL\pN])(` + strings.Join(parts, "|") + `)($|[^\pL\pN])`)
	f.wordsIn(f.doc, "", match)
}

func notInName(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("_,.-", r) }

// wordy are members in which people write words, even where these look like an id.
var wordy = regexp.MustCompile(`/(?:name|handle|label|verbatim|notes?|description|terms|title|caption|columns/[^/]+)$`)

// wordsIn looks through every text below a pointer that no other proposal takes away.
func (f *forgetter) wordsIn(n *node, at string, match *regexp.Regexp) {
	if n.value().Kind() == '"' {
		var text string
		if json.Unmarshal(n.value(), &text) != nil || f.taken(at) ||
			find.IsLocalID(text) && !wordy.MatchString(at) { // a code, or an id
			return
		}
		after := match.ReplaceAllString(text, "${1}"+withheldText+"${3}")
		if f.alone != nil && !strings.HasPrefix(at, "/people/") { // a sister has her own name
			after = f.alone.ReplaceAllStringFunc(after, func(found string) string {
				m := f.alone.FindStringSubmatch(found)
				if m[4] != "" && m[2] == "" {
					return found // another person of that first name
				}
				return m[1] + withheldText + m[3] + m[4]
			})
		}
		if after == text {
			return
		}
		quoted, err := json.Marshal(after)
		if err != nil {
			return
		}
		where, number := at, ""
		if parts := strings.SplitN(at, "/", 4); len(parts) == 4 && parts[1] == "finds" {
			if i, err := strconv.Atoi(parts[2]); err == nil && i < len(f.log.Finds) {
				number, where = f.log.Finds[i].Number, label(f.log.Finds[i])+", "+find.NameOf("/"+parts[3])
			}
		}
		f.propose(number, "the name in the words of "+strings.TrimPrefix(where, "/"),
			[]Step{{Op: "test", Path: at, Value: n.value()}, {Op: "replace", Path: at, Value: quoted}})
		return
	}
	if n.open() != nil {
		return
	}
	for _, name := range n.names {
		f.wordsIn(n.members[name], at+"/"+notice.Escape(name), match)
	}
	for i, item := range n.items {
		f.wordsIn(item, at+"/"+strconv.Itoa(i), match)
	}
}

// taken reports whether a proposal takes away what stands at a pointer.
func (f *forgetter) taken(at string) bool {
	for i := range f.out.Proposals.Proposals {
		for _, s := range f.out.Proposals.Proposals[i].Patch {
			if s.Op == "remove" && (at == s.Path || strings.HasPrefix(at, s.Path+"/")) {
				return true
			}
		}
	}
	return false
}

// holders are the copies in which it stands: those that told the name, by their digests, and those that hold one of
// the finds.
func (f *forgetter) holders(r *register.Register, touched map[string]bool) {
	if r == nil {
		return
	}
	digests := map[string]bool{}
	for id := range touched {
		for _, d := range r.Digests("find", id) {
			digests[d] = true
		}
	}
	source := r.Digests("report", f.log.ID)
	for i := range r.Events {
		e := &r.Events[i]
		if e.Kind != register.Copy || !slices.Contains(source, e.Source) {
			continue
		}
		h := Holder{Event: *e}
		for _, told := range e.Finds {
			if digests[told.Find] {
				h.Finds++
				h.Surely = h.Surely || f.out.Land && told.Exact
			}
		}
		for k := range e.Around {
			h.Surely = h.Surely || f.told(r, e, &e.Around[k])
		}
		if h.Finds > 0 || h.Surely {
			h.Event.Finds, h.Event.Around = nil, nil
			f.out.Holders = append(f.out.Holders, h)
		}
	}
}

// told reports whether one of the names was told in a record around the finds.
func (f *forgetter) told(r *register.Register, e *register.Event, told *register.Told) bool {
	for pointer, digest := range e.Noted(told) {
		for _, name := range f.names {
			if r.Is(digest, e, told, pointer, name) {
				return true
			}
		}
	}
	return false
}

// Letter asks a holder, in plain words, to forget too. It names neither the person nor the land: the copy is known
// by its day and id.
func (h *Holder) Letter(land bool) string {
	who, to := "a person who is in it has", cmp.Or(h.Name, "the "+h.Audience)
	if land {
		who = "the owner of land that is in it has"
	}
	return fmt.Sprintf(`To %s

On %s I gave you a copy of a log of finds: %s
(the copy bears the id %s).

Since then %s asked to be forgotten. Delete that copy, and whatever was
made of it, and tell me when that is done. If you have handed it on, tell me to whom, or pass
this letter on to them.

If you need the finds for your work I can give you a new copy without it.


Name, day:
`, to, h.Day, cmp.Or(h.File, "a file"), h.Copy, who)
}
