package repair

import (
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// What a find lacks may follow from what it has: the sort of object from its name, the age from the year on a coin,
// place and day from its pictures. All of it is proposed where it is asked for, and none is taken unasked.

// The rules of such proposals.
const (
	classFromName   = "class-from-name"
	ageFromYear     = "age-from-year"
	placeFromImage  = "place-from-picture"
	dayFromImage    = "day-from-picture"
	picturesOfPlace = 20 // of one find that are looked into
)

// filling is what proposals that fill in are made of.
type filling struct {
	files  fs.FS // the pictures; nil: none
	limits limit.Limits
	year   int // no coin is younger
	names  []string
}

// newFilling lists the pictures of a folder.
func newFilling(files fs.FS, limits limit.Limits, year int) (*filling, error) {
	x := &filling{files: files, limits: limits.WithDefaults(), year: year}
	if files == nil {
		return x, nil
	}
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && picture.IsName(name) && int64(len(x.names)) < x.limits.Entries {
			x.names = append(x.names, name)
		}
		return err
	})
	return x, err
}

// fill proposes what the find lacks.
func (p *proposer) fill(s *sighting, f *find.Find) {
	if p.filling == nil {
		return
	}
	class := ""
	if f.ObjectClass != nil {
		class = f.ObjectClass.Code
	} else if c, ok := classOf(f.Name); ok {
		class = c.Code
		p.lacks(s, "/objectClass", "the name of the find", candidate{c.Label("en"), classFromName,
			fmt.Sprintf("%q is a word for this class", clip(f.Name))})
	}
	if year := yearOf(f.Name); year > 0 && year <= p.filling.year && f.Dating == nil &&
		slices.Contains([]string{"coin", "token", "jetton", "medal"}, class) {
		p.lacks(s, "/dating/verbatim", "the year in the name of the find", candidate{strconv.Itoa(year), ageFromYear,
			"the year on the piece says when it was made, not when it was lost"})
	}
	p.pictures(s, f)
}

var (
	oneYear  = text.Pattern(`(?:^|[^0-9./-])(1[0-9]{3}|20[0-2][0-9])(?:$|[^0-9./])`)
	setAside = text.Pattern(`\([^)]*\)|\[[^\]]*\]|[,;:?!].*$`)
)

// yearOf returns the one year in a name; 0 where there is none, or two.
func yearOf(name string) int {
	all := oneYear().FindAllStringSubmatch(name, -1)
	if len(all) != 1 {
		return 0
	}
	year, _ := strconv.Atoi(all[0][1])
	return year
}

// classOf returns the class that a name is a word for: as it stands, without what is set aside, or by its last words.
func classOf(name string) (*vocabulary.Concept, bool) {
	list := vocabulary.Get("object-class")
	short := strings.TrimSpace(setAside().ReplaceAllString(oneYear().ReplaceAllString(name, " "), " "))
	words := strings.Fields(short)
	tries := []string{name, short}
	for n := min(3, len(words)); n > 0; n-- {
		tries = append(tries, strings.Join(words[len(words)-n:], " "))
	}
	for _, text := range tries {
		if m, ok := list.Match(text); ok && m.Code != "" {
			return list.Concept(m.Code)
		}
	}
	return nil, false
}

// pictures proposes the place and the day that the pictures of a find tell.
func (p *proposer) pictures(s *sighting, f *find.Find) {
	x := p.filling
	if x.files == nil || f.Position != nil && f.Found != nil {
		return
	}
	var places, days []candidate
	for _, name := range x.of(f) {
		told, ok := x.read(name)
		if !ok {
			continue
		}
		const home = "a picture may have been taken at home; look whether it was taken at the hole"
		if told.Position {
			places = append(places, candidate{fmt.Sprintf("%.6f, %.6f", told.Latitude, told.Longitude), placeFromImage,
				path.Base(name) + " says where it was taken; " + home})
		}
		if day, _, ok := strings.Cut(told.At, "T"); ok {
			days = append(days, candidate{day, dayFromImage, path.Base(name) + " was taken on that day; " + home})
		}
	}
	if f.Position == nil && len(places) > 0 {
		p.lacks(s, "/position/verbatim", "the pictures of the find", places...)
	}
	if f.Found == nil && len(days) > 0 {
		p.lacks(s, "/found/verbatim", "the pictures of the find", days...)
	}
}

// of returns the pictures of a find: those that it names, else those whose names begin with its number.
func (x *filling) of(f *find.Find) (names []string) {
	for _, m := range f.Media {
		if len(names) < picturesOfPlace && fs.ValidPath(path.Clean(m.File)) {
			names = append(names, path.Clean(m.File))
		}
	}
	if len(names) > 0 || f.Number == "" {
		return names
	}
	matched := picture.Match(x.names, []string{f.Number})[f.Number]
	return matched[:min(len(matched), picturesOfPlace)]
}

func (x *filling) read(name string) (told picture.Told, ok bool) {
	file, err := x.files.Open(name)
	if err != nil {
		return told, false
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, x.limits.Picture))
	if err != nil {
		return told, false
	}
	return picture.Read(data)
}

// lacks proposes what may stand where nothing stands. Several are a choice.
func (p *proposer) lacks(s *sighting, pointer, evidence string, list ...candidate) {
	key := fmt.Sprint(s.index, pointer)
	if p.touched[key] {
		return
	}
	n := notice.Notice{Location: notice.Location{Pointer: pointer}}
	(&find.Entry{Find: &find.Find{ID: s.id, Number: s.number}, Index: s.index, Origin: s.origin}).Locate(&n)
	var out []*draft
	for _, c := range list {
		if slices.ContainsFunc(out, func(d *draft) bool { return d.After == c.after }) {
			continue
		}
		d := &draft{index: s.index, column: columnOf(pointer), outing: s.outing,
			Proposal: Proposal{Find: s.id, Number: s.number, Pointer: pointer, Sheet: n.Sheet, Cell: n.Cell, After: c.after,
				Rule: c.rule, Reason: c.reason, Evidence: evidence}}
		if s.nth > 1 {
			d.Nth = s.nth
		}
		out = append(out, d)
	}
	if len(out) > 1 {
		p.choices++
		for _, d := range out {
			d.Choice = fmt.Sprintf("choice-%d", p.choices)
		}
	}
	p.touched[key] = true
	p.drafts = append(p.drafts, out...)
}

// fillIn puts an accepted text where nothing stood, and says beside it what it rests on.
func fillIn(to slot[find.Find], f *find.Find, x Proposal) error {
	if to.get(f) != "" {
		return changedSince(x)
	}
	if err := to.set(f, x.After); err != nil {
		return err
	}
	top := "/" + member(x.Pointer)
	delete(f.Absent, top)
	if len(f.Absent) == 0 {
		f.Absent = nil
	}
	switch x.Rule {
	case classFromName:
		f.ObjectClass.Certainty, f.ObjectClass.Basis = "probable", "description"
	case ageFromYear:
		f.Dating.Certainty, f.Dating.Basis = "probable", &find.Term{Code: "mark"}
		f.Dating.Event = &find.Term{Code: "made"}
	case placeFromImage:
		f.Position.Method = &find.Term{Code: "photo"}
	}
	return nil
}

// fills reports whether a proposal puts something where nothing stands.
func fills(x Proposal) bool {
	return x.Before == "" && slices.Contains([]string{classFromName, ageFromYear, placeFromImage, dayFromImage}, x.Rule)
}

// clip shortens a name for a sentence.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}
