package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var identificationRules = []*Rule{unidentifiedButCertain, certainOnWeakGrounds, identificationUnlikeOpinion,
	militaryUseUnproven, markNotPictured, questionIncomplete, newerOpinion}

func sure(certainty string) bool { return certainty == "certain" || certainty == "probable" }

var unidentifiedButCertain = &Rule{
	Kind: notice.Kind{
		Code: "unidentified-but-certain", Severity: notice.Error, Group: "identification", Spec: "5.9",
		Title:  "it is called unidentified, and its naming certain or probable",
		Why:    "the two contradict each other",
		Help:   "Give the class that you are sure of, or set the certainty to possible or unknown.",
		Source: "our proposal",
		Before: `"objectClass": {"code": "unidentified"}, "identification": {"certainty": "certain"}`,
		After:  `"objectClass": {"code": "unidentified"}, "identification": {"certainty": "unknown"}`,
	},
	// When: The code of `objectClass` is `unidentified`, and the identification is `certain` or `probable` (at
	// `/identification/certainty`); else there is a `type`, and `objectClass` is `certain` or `probable` (at `/type`).
	Check: func(c *Case, say Say) {
		f := c.Find
		if !f.ObjectClass.Is("unidentified") {
			return
		}
		switch {
		case f.Identification != nil && sure(f.Identification.Certainty):
			say("/identification/certainty", fmt.Sprintf("the object is unidentified, but its naming is called %s", f.Identification.Certainty))
		case f.Type != "" && sure(f.ObjectClass.Certainty):
			say("/type", "the object is unidentified, but a type is given for sure")
		}
	},
}

var certainOnWeakGrounds = &Rule{
	Kind: notice.Kind{
		Code: "certain-on-weak-grounds", Severity: notice.Warning, Group: "identification", Spec: "5.9",
		Title:  "the naming is called certain on weak grounds",
		Why:    "certain means a mark, a test or an exact parallel in hand; others will build on it",
		Help:   "Call it probable or possible, or say what it rests on.",
		Source: "the test of the list of certainties; our proposal",
		Before: `"identification": {"certainty": "certain", "basis": {"code": "guess"}}`,
		After:  `"identification": {"certainty": "possible", "basis": {"code": "guess"}}`,
	},
	// When: The identification is `certain`, and its basis is `guess`, `description` or `detector-number`, or `seen`
	// is `description`, or `seen` is `photo` and `by` is the finder. At `/identification/certainty`.
	Check: func(c *Case, say Say) {
		f := c.Find
		id := f.Identification
		if id == nil || id.Certainty != "certain" {
			return
		}
		switch {
		case id.Basis.Is("guess", "description", "detector-number"):
			say("/identification/certainty", fmt.Sprintf("certain, but the grounds are: %s", id.Basis.Code))
		case id.Seen.Is("description"):
			say("/identification/certainty", "certain, but whoever named it had only a description")
		case id.Seen.Is("photo") && id.By != "" && id.By == f.Finder:
			say("/identification/certainty", "certain, but the finder named it from a picture")
		}
	},
}

// saysOf is what an opinion says of the members that may not change in silence.
type saysOf struct {
	ObjectClass *find.Term      `json:"objectClass"`
	Type        string          `json:"type"`
	Materials   []find.Material `json:"materials"`
	Dating      *find.Dating    `json:"dating"`
}

func opinion(f *find.Find, id string) *find.Opinion {
	i := slices.IndexFunc(f.Opinions, func(o find.Opinion) bool { return o.ID == id })
	if id == "" || i < 0 {
		return nil
	}
	return &f.Opinions[i]
}

func withdrawn(f *find.Find, id string) bool {
	return slices.ContainsFunc(f.Opinions, func(o find.Opinion) bool { return o.Withdraws == id && id != "" })
}

var identificationUnlikeOpinion = &Rule{
	Kind: notice.Kind{
		Code: "identification-unlike-opinion", Severity: notice.Warning, Group: "identification", Spec: "5.9",
		Title:  "the record says something else than the opinion it follows",
		Why:    "a naming that changes in silence destroys the history of the find",
		Help:   "Add the new naming as an opinion with who, when and why, and follow that one. Leave the old one as it is.",
		Source: "format of this specification, section 3.3: opinions are never edited",
		Before: `"objectClass": {"code": "buckle"}, "identification": {"follows": "opinion-1"}, "opinions": [{"id": "opinion-1", "says": {"objectClass": {"code": "brooch"}}}]`,
		After:  `"objectClass": {"code": "buckle"}, "identification": {"follows": "opinion-2"}, "opinions": [{"id": "opinion-1", "says": {"objectClass": {"code": "brooch"}}}, {"id": "opinion-2", "says": {"objectClass": {"code": "buckle"}}}]`,
	},
	// When: `/identification/follows` is the id of one of `opinions`. The first of these: another opinion `withdraws`
	// it (at `/identification/follows`); or what it `says` differs from the find: another code of `objectClass` (at
	// `/objectClass`), another `type` (at `/type`), another code of the first material (at `/materials/0`), another
	// `date` of the dating (at `/dating/date`); compared is what both give, character for character. Not checked where
	// `says` cannot be read.
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Identification == nil {
			return
		}
		o := opinion(f, f.Identification.Follows)
		if o == nil {
			return
		}
		if withdrawn(f, o.ID) {
			say("/identification/follows", "the opinion that the record follows was withdrawn")
			return
		}
		if len(o.Says) == 0 {
			return
		}
		var says saysOf
		if json.Unmarshal(o.Says, &says) != nil {
			c.NotChecked()
			return
		}
		switch {
		case says.ObjectClass != nil && f.ObjectClass != nil && unlike(says.ObjectClass, f.ObjectClass):
			say("/objectClass", "the class is not the one of the opinion that the record follows")
		case says.Type != "" && f.Type != "" && says.Type != f.Type:
			say("/type", "the type is not the one of the opinion that the record follows")
		case len(says.Materials) > 0 && len(f.Materials) > 0 && unlike(&says.Materials[0].Term, &f.Materials[0].Term):
			say("/materials/0", "the material is not the one of the opinion that the record follows")
		case says.Dating != nil && f.Dating != nil && says.Dating.Date != "" && f.Dating.Date != "" && says.Dating.Date != f.Dating.Date:
			say("/dating/date", "the date is not the one of the opinion that the record follows")
		}
	},
}

// unlike tells that two terms bear different codes; words are not compared.
func unlike(a, b *find.Term) bool { return a.Code != "" && b.Code != "" && a.Code != b.Code }

var militaryUseUnproven = &Rule{
	Kind: notice.Kind{
		Code: "military-use-unproven", Severity: notice.Warning, Group: "identification", Spec: "5.9",
		Title:  "military use is called certain and nothing shows it",
		Why:    "most buckles, buttons and balls were used by civilians too; probable is the honest value",
		Help:   "Call it probable, or record the mark, the parallel or the opinion of somebody who had it in hand.",
		Source: "common practice, no source",
		Before: `"use": {"code": "military", "certainty": "certain"}, "name": "buckle"`,
		After:  `"use": {"code": "military", "certainty": "probable"}, "name": "buckle"`,
	},
	// When: `use` is `military` and `certain`. There are no `marks`; the class is not in the group `military-only`;
	// the basis of the identification is not `mark` or `parallel`, nor that of the use; the use has no `note`; and no
	// opinion with `seen` `in-hand` stands that was not withdrawn. At `/use/certainty`.
	Check: func(c *Case, say Say) {
		f := c.Find
		if !f.Use.Is("military") || f.Use.Certainty != "certain" || len(f.Marks) > 0 || theTables().in("military-only", classOf(f)) {
			return
		}
		if f.Identification != nil && f.Identification.Basis.Is("mark", "parallel") || f.Use.Basis == "mark" || f.Use.Basis == "parallel" || f.Use.Note != "" {
			return
		}
		for i := range f.Opinions {
			if f.Opinions[i].Seen.Is("in-hand") && !withdrawn(f, f.Opinions[i].ID) {
				return
			}
		}
		say("/use/certainty", "military use is called certain, but no mark, parallel or opinion in hand is recorded")
	},
}

var markNotPictured = &Rule{
	Kind: notice.Kind{
		Code: "mark-not-pictured", Severity: notice.Info, Group: "identification", Spec: "5.9",
		Title:  "a mark is not identified and there is no picture of it",
		Why:    "nobody can help with a mark that they cannot see",
		Help:   "Take a picture of the mark close up, under slanting light, and give it the view mark-detail.",
		Source: "common practice, no source",
		Before: `"marks": [{"text": "I.B", "identified": false}]`,
		After:  `"marks": [{"text": "I.B", "identified": false}], "media": [{"file": "12-mark.jpg", "view": {"code": "mark-detail"}}]`,
	},
	// When: The first of `marks` whose `identified` is false, where no picture has the view `mark-detail`. At
	// `/marks/N`.
	Check: func(c *Case, say Say) {
		f := c.Find
		for i := range f.Marks {
			if f.Marks[i].Identified == nil || *f.Marks[i].Identified {
				continue
			}
			if !slices.ContainsFunc(f.Media, func(m find.Media) bool { return m.View.Is("mark-detail") }) {
				say(fmt.Sprintf("/marks/%d", i), "the mark is not identified, and no picture shows it close up")
			}
			return
		}
	},
}

var questionIncomplete = &Rule{
	Kind: notice.Kind{
		Code: "question-incomplete", Severity: notice.Info, Group: "identification", Spec: "5.9",
		Title:  "a question is asked, and what is needed to answer it is missing",
		Why:    "such a request comes back with the same questions every time",
		Help:   "Add two views, one with a scale, the sizes, the weight and any mark as you read it.",
		Source: "common practice, no source",
		Before: `"question": "What is it?"`,
		After:  `"question": "What is it?", "media": [{"file": "12-front.jpg", "view": {"code": "front"}, "scale": true}, {"file": "12-back.jpg", "view": {"code": "back"}}], "dimensions": {}, "weight": {}`,
	},
	// When: There is a `question`, and neither `ordnance-possible` nor `human-remains-possible` is drawn. Something is
	// missing and not excused: pictures of at least two different views, or a picture with a scale (`/media`), sizes
	// (`/dimensions`), the weight (`/weight`), or, for a `coin`, `token` or `button`, `marks` (`/marks`). At
	// `/question`, once, with all that is missing.
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Question == "" || ordnanceAt(c) != "" || remainsAt(c) != "" {
			return // never ask for more handling of those
		}
		var lacks []string
		need := func(given bool, what, pointer string) {
			if !given && !excusedBy(f, pointer) {
				lacks = append(lacks, what)
			}
		}
		views, scale := 0, false
		seen := map[string]bool{}
		for i := range f.Media {
			if v := f.Media[i].View; v != nil && !seen[v.Code] {
				seen[v.Code] = true
				views++
			}
			scale = scale || f.Media[i].Scale != nil && *f.Media[i].Scale
		}
		need(views >= 2, "pictures from two sides", "/media")
		need(scale, "a scale in a picture", "/media")
		need(f.Dimensions != nil, "the sizes", "/dimensions")
		need(f.Weight.HasValue(), "the weight", "/weight")
		need(len(f.Marks) > 0 || classOf(f) != "coin" && classOf(f) != "token" && classOf(f) != "button", "any mark or legend as you read it", "/marks")
		if len(lacks) > 0 {
			say("/question", "to answer it one would need: "+strings.Join(lacks, ", "))
		}
	},
}

var newerOpinion = &Rule{
	Kind: notice.Kind{
		Code: "newer-opinion", Severity: notice.Warning, Group: "identification", Spec: "5.9",
		Title:  "somebody who had it in hand has spoken since, and nobody has decided",
		Why:    "the record still follows the older opinion without saying why",
		Help:   "Follow the newer opinion, or add one of your own that says why not.",
		Source: "our proposal",
		Before: `"identification": {"follows": "opinion-1"}, "opinions": [{"id": "opinion-1", "on": "2026-02-01"}, {"id": "opinion-2", "on": "2026-03-01", "seen": {"code": "in-hand"}}]`,
		After:  `"identification": {"follows": "opinion-2"}, "opinions": [{"id": "opinion-1", "on": "2026-02-01"}, {"id": "opinion-2", "on": "2026-03-01", "seen": {"code": "in-hand"}}]`,
	},
	// When: There is an identification. Its day is its `on`, or that of the opinion it follows, if that is later as
	// text; whoever made it is its `by`, or that of the opinion it follows. The first of `opinions` that is not the
	// one followed, was made by somebody else with `seen` `in-hand`, is not withdrawn, and all days of whose `on` lie
	// after those of that day. At `/opinions/N`.
	Check: func(c *Case, say Say) {
		f := c.Find
		id := f.Identification
		if id == nil || len(f.Opinions) == 0 {
			return
		}
		on, by := id.On, id.By
		if o := opinion(f, id.Follows); o != nil {
			// Whoever decides later than the opinion they follow has weighed what was there by then.
			on = max(o.On, id.On)
			by = o.By
		}
		if on == "" {
			return
		}
		accepted, ok := spanOf(on)
		for i := range f.Opinions {
			o := &f.Opinions[i]
			newer, known := spanOf(o.On)
			if ok && known && o.ID != id.Follows && o.By != by && o.Seen.Is("in-hand") && !withdrawn(f, o.ID) && newer.first.Compare(accepted.last) > 0 {
				say(fmt.Sprintf("/opinions/%d", i), "this opinion of somebody who had the object in hand is newer than the naming that the record follows")
				return
			}
		}
	},
}
