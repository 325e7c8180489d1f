package validate

import (
	"fmt"
	"sync"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/schema"
)

var custodyRules = []*Rule{custodyBroken, ownerNotAgreed, receiptMissing, transferByOther}

var custodyBroken = &Rule{
	Kind: kinds.CustodyBroken,
	Check: func(c *Case, say Say) {
		hands := c.Find.Custody
		for i := 1; i < len(hands); i++ {
			before, now := &hands[i-1], &hands[i]
			if before.To != "" && now.From != "" && before.To != now.From {
				say(fmt.Sprintf("/custody/%d/from", i), "whoever hands it on here is not the one who received it last")
				return
			}
			earlier, ok1 := spanOf(before.On)
			later, ok2 := spanOf(now.On)
			if ok1 && ok2 && later.last.Compare(earlier.first) < 0 {
				say(fmt.Sprintf("/custody/%d/on", i), "this change of hands is dated before the one above it")
				return
			}
		}
		if n := len(hands); n > 0 && c.Find.Keeper != "" && hands[n-1].To != "" && hands[n-1].To != c.Find.Keeper {
			say("/keeper", "the keeper is not the one who received it last")
		}
	},
}

var ownerNotAgreed = &Rule{
	Kind: kinds.OwnerNotAgreed,
	Check: func(c *Case, say Say) {
		f := c.Find
		for i := range f.Owners {
			o := &f.Owners[i]
			if o.Code != "finder" && (o.Code != "" || o.Person == "" || o.Person != f.Finder) {
				continue
			}
			pointer := fmt.Sprintf("/owners/%d", i)
			p := c.Permission
			switch {
			case f.Disposition.Is("finder-for-landowner"):
				say(pointer, "the finder is called the owner, but keeps it for the landowner")
			case p == nil:
				c.NotChecked()
			case p.Basis.Is("own-land") || p.GrantedBy != "" && p.GrantedBy == f.Finder ||
				f.Disposition.Is("finder-agreed-owner"):
			case p.Terms == "" && p.Absent["/terms"] == "":
				say(pointer, "the finder is called the owner, but the permission names no terms that say so")
			default:
				c.NotChecked() // the terms are in words, or withheld
			}
			return
		}
	},
}

var receiptMissing = &Rule{
	Kind: kinds.ReceiptMissing,
	Check: func(c *Case, say Say) {
		f := c.Find
		if !f.Disposition.Is("lent-for-identification", "lodged-with-recorder", "museum", "statutory-authority") ||
			f.Keeper != "" && f.Keeper != f.Finder {
			return
		}
		for i := range f.Custody {
			if f.Custody[i].Receipt != "" || f.Custody[i].To != "" {
				return
			}
		}
		for i := range f.OtherNumbers {
			if f.OtherNumbers[i].Issuer != "" {
				return
			}
		}
		if excusedBy(f, "/custody") || excusedBy(f, "/keeper") {
			return
		}
		say("/disposition", "it is said to be with somebody else, but not with whom, and there is no receipt")
	},
}

// transferWords finds words for giving and selling in the purpose of a change of hands.
var transferWords = sync.OnceValue(func() *phrase.Set {
	rows, _ := schema.Rows[struct {
		Words []string `json:"words"`
	}]("transfer-words")
	set := phrase.New()
	for _, r := range rows {
		set.Add(0, r.Words...)
	}
	return set
})

var transferByOther = &Rule{
	Kind: kinds.TransferByOther,
	Check: func(c *Case, say Say) {
		f := c.Find
		if len(f.Owners) == 0 || len(f.Custody) == 0 {
			return
		}
		for i := range f.Custody {
			h := &f.Custody[i]
			if h.Purpose == "" || h.From == "" || !transferWords().Has(h.Purpose) {
				continue
			}
			owners, known := ownersOf(c)
			if !known {
				c.NotChecked()
				return
			}
			// The one who received it may be the owner that the record names today.
			if !owners[h.From] && !owners[h.To] {
				say(fmt.Sprintf("/custody/%d/from", i), "whoever gave it away or sold it is not named as an owner")
				return
			}
		}
	},
}

// ownersOf returns the local ids of the owners; false where one of them has none.
func ownersOf(c *Case) (map[string]bool, bool) {
	ids := map[string]bool{}
	for i := range c.Find.Owners {
		o := &c.Find.Owners[i]
		id := o.Person
		if id == "" {
			switch o.Code {
			case "finder":
				id = c.Find.Finder
			case "landowner":
				if c.Permission != nil {
					id = c.Permission.GrantedBy
				}
			case "tenant":
				if c.Permission != nil {
					id = c.Permission.Occupier
				}
			}
		}
		if id == "" {
			return nil, false
		}
		ids[id] = true
	}
	return ids, true
}
