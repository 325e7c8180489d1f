package validate

import (
	"fmt"
	"slices"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var identificationRules = []*Rule{unidentifiedButCertain, certainOnWeakGrounds, identificationUnlikeOpinion}

func sure(certainty string) bool { return certainty == "certain" || certainty == "probable" }

var unidentifiedButCertain = &Rule{
	Kind: kinds.UnidentifiedButCertain,
	// When: The code of `objectClass` is `unidentified`, and the identification is `certain` or `probable` (at
	// `/identification/certainty`); else there is a `type`, and `objectClass` is `certain` or `probable` (at `/type`).
	Check: func(c *Case, say Say) {
		f := c.Find
		if !f.ObjectClass.Is("unidentified") {
			return
		}
		switch {
		case f.Identification != nil && sure(f.Identification.Certainty):
			say("/identification/certainty", fmt.Sprintf("the object is unidentified, but its naming is called %s",
				f.Identification.Certainty))
		case f.Type != "" && sure(f.ObjectClass.Certainty):
			say("/type", "the object is unidentified, but a type is given for sure")
		}
	},
}

var certainOnWeakGrounds = &Rule{
	Kind: kinds.CertainOnWeakGrounds,
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
	Kind: kinds.IdentificationUnlikeOpinion,
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
		case says.Dating != nil && f.Dating != nil && says.Dating.Date != "" && f.Dating.Date != "" &&
			says.Dating.Date != f.Dating.Date:
			say("/dating/date", "the date is not the one of the opinion that the record follows")
		}
	},
}

// unlike tells that two terms bear different codes; words are not compared.
func unlike(a, b *find.Term) bool { return a.Code != "" && b.Code != "" && a.Code != b.Code }
