package validate

import (
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var identityRules = []*Rule{idRepeated, recordRepeated, numberRepeated, referenceUnknown, linkOutside, linkLoop,
	linkOneSided, notLiftedButKept, outingNothingFound}

var idRepeated = &Rule{
	Kind: notice.Kind{
		Code: "id-repeated", Severity: notice.Error, Group: "identity", Spec: "5.1",
		Title:  "two records with different contents bear one id",
		Why:    "two finds were merged, or a copy was edited by hand; every later merge goes wrong",
		Help:   "Look at both records. If they are two finds, take the id out of the newer one and convert again: it gets its own. If they are one find, keep the right one.",
		Source: "RFC 9562, which asks that an identifier is unique; format of this specification, section 3.6",
		Before: `{"id": "urn:uuid:…01", "number": "14", "name": "buckle"}, {"id": "urn:uuid:…01", "number": "14", "name": "thimble"}`,
		After:  `{"id": "urn:uuid:…01", "number": "14", "name": "buckle"}, {"id": "urn:uuid:…02", "number": "15", "name": "thimble"}`,
	},
	// When: Two finds have one `id` and different contents, and `number-repeated` is not drawn for that. An id was
	// made from its number if the find is not `retracted`, has a `number`, and the id is the one that 3.6-2 makes of
	// the id of the report and the number. Contents are alike when all members are, but for the order of names and how
	// numbers and characters are written. At `/id` of each but the first.
	Across: func() Across { return repeatedIDs(false) },
}

var recordRepeated = &Rule{
	Kind: notice.Kind{
		Code: "record-repeated", Severity: notice.Info, Group: "identity", Spec: "5.1",
		Title:  "the same record stands twice in the file",
		Why:    "nothing is lost when equal records become one, but counts and maps show the find twice until then",
		Help:   "Take one of the two out.",
		Source: "our proposal",
		Before: `{"id": "urn:uuid:…01", "number": "14"}, {"id": "urn:uuid:…01", "number": "14"}`,
		After:  `{"id": "urn:uuid:…01", "number": "14"}`,
	},
	// When: Two finds have one `id` and contents that are alike, as in `id-repeated`. At `/id` of each but the first.
	Across: func() Across { return repeatedIDs(true) },
}

// repeatedIDs remembers for each id where it stood first and a digest of what was said there, and
// speaks when it comes again with the same contents, or with different ones.
func repeatedIDs(same bool) Across {
	return Across{Find: func(c *Case, ref Ref, say Say) {
		if c.Find.ID == "" {
			return
		}
		seen := c.census.see(c, ref)
		if seen.sameID < 0 {
			return
		}
		earlier := uint32(seen.sameID)
		alike := c.census.same(seen.i, earlier)
		switch {
		case same && alike:
			say("/id", "this is the same record as "+c.census.words(earlier)+", word for word")
		case !same && !alike && !numberTells(c, seen):
			say("/id", c.census.words(earlier)+" has this id too and says something else")
		}
	}}
}

// numberTells tells that number-repeated speaks of a find whose id came before: its id was made from its number, and so
// it is with an earlier one that says something else.
func numberTells(c *Case, seen *sighting) bool {
	if !numbered(c) {
		return false
	}
	earlier, again := c.census.numberedBefore(seen)
	return again && !c.census.same(earlier, seen.i)
}

// numbered tells that the id of a find was made from its number.
func numbered(c *Case) bool {
	return c.Find.Number != "" && c.Find.Retracted == nil && c.Find.ID == find.FindID(c.Report.ID, c.Find.Number)
}

// words names a record that came earlier, as its sender can find it.
func (c *census) words(i uint32) string {
	if row := c.rows.at(i); row > 0 {
		return fmt.Sprintf("row %d", row)
	}
	return fmt.Sprintf("record %d of the file", c.indices.at(i)+1)
}

var numberRepeated = &Rule{
	Kind: notice.Kind{
		Code: "number-repeated", Severity: notice.Error, Group: "identity", Spec: "5.1",
		Title:  "one number stands on two bags of the same finder and permission",
		Why:    "the label on the bag no longer points to one record",
		Help:   "Look into both bags and give one of them a new number, such as 14a; write it on the bag as well.",
		Source: "common practice, no source",
		Before: `{"number": "7", "name": "token"}, {"number": "007", "name": "bell"}`,
		After:  `{"number": "7", "name": "token"}, {"number": "7a", "name": "bell"}`,
	},
	// When: An earlier find that is not `retracted` has the same number, finder and permission, with numbers brought
	// to one form: NFKC, no blanks in front and behind, one blank for several, lower case, no noughts in front of a
	// run of digits. The find is not `retracted`, and has no id or another one than the earlier. Or its id was made
	// from its number, as in `id-repeated`, and an earlier find that is not `retracted` and has a number has the same
	// id and different contents. At `/number` of the later find.
	Across: func() Across {
		return Across{Find: func(c *Case, ref Ref, say Say) {
			f := c.Find
			if f.Number == "" || f.Retracted != nil {
				return
			}
			seen := c.census.see(c, ref)
			if seen.sameBag >= 0 && (f.ID == "" || c.census.idOf(uint32(seen.sameBag)) != c.prepare().id) { // one id twice is for id-repeated to tell, unless it was made from the number
				say("/number", c.census.words(uint32(seen.sameBag))+" has this number too, of the same finder and permission; blanks, capitals and leading noughts do not tell numbers apart")
				return
			}
			if f.ID == "" {
				return
			}
			if earlier, again := c.census.sameNumbered(seen); again && !c.census.same(earlier, seen.i) && numbered(c) {
				say("/number", c.census.words(earlier)+" has this number too")
			}
		}}
	},
}

// foldNumber is find.FoldNumber without its cost for the plain numbers that most bags bear.
func foldNumber(s string) string {
	for i := 0; i < len(s); i++ {
		plain := s[i] >= '1' && s[i] <= '9' || s[i] >= 'a' && s[i] <= 'z' || s[i] == '-' || s[i] == '/' ||
			s[i] == '0' && i > 0 && s[i-1] >= '0' && s[i-1] <= '9'
		if !plain {
			return find.FoldNumber(s)
		}
	}
	return s
}

var notLiftedButKept = &Rule{
	Kind: notice.Kind{
		Code: "not-lifted-but-kept", Severity: notice.Warning, Group: "identity", Spec: "5.1",
		Title:  "the object was left in the ground, yet it was weighed, cleaned or handed on",
		Why:    "the record says both that it left the ground and that it did not",
		Help:   "If only a part was lifted, say lifted: part. If nothing was, the weight, cleaning or change of hands belongs to another record.",
		Source: "our proposal",
		Before: `"lifted": "none", "weight": {"min": 12.4, "max": 12.4, "unit": "g"}`,
		After:  `"lifted": "part", "weight": {"min": 12.4, "max": 12.4, "unit": "g"}`,
	},
	// When: `lifted` is `none`. The first of these: `weight` has a value (at `/weight`); `cleaning` has a code other
	// than `none` and `unknown` (at `/cleaning`); there is any `custody` (at `/custody`).
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Lifted != "none" {
			return
		}
		switch {
		case f.Weight.HasValue():
			say("/weight", "nothing was lifted, yet a weight is given")
		case f.Cleaning != nil && f.Cleaning.Code != "" && !f.Cleaning.Is("none", "not-cleaned", "uncleaned", "unknown", "not-known"):
			say("/cleaning", "nothing was lifted, yet it was cleaned")
		case len(f.Custody) > 0:
			say("/custody", "nothing was lifted, yet it was handed on")
		}
	},
}

var outingNothingFound = &Rule{
	Kind: notice.Kind{
		Code: "outing-nothing-found", Severity: notice.Warning, Group: "identity", Spec: "5.1",
		Title:  "the find belongs to an outing on which nothing was found",
		Why:    "one of the two is wrong: the find hangs on the wrong outing, or the outing was closed too early",
		Help:   "Give the find its right outing, or take nothingFound off the outing.",
		Source: "our proposal",
		Before: `"outings": [{"id": "outing-1", "nothingFound": true}], "finds": [{"outing": "outing-1"}]`,
		After:  `"outings": [{"id": "outing-1"}], "finds": [{"outing": "outing-1"}]`,
	},
	// When: The outing that the find names has `nothingFound` true. At `/outing`.
	Check: func(c *Case, say Say) {
		if o := c.Outing; o != nil && o.NothingFound != nil && *o.NothingFound {
			say("/outing", "the outing named says that nothing was found")
		}
	},
}
