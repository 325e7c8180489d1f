package share

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

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
		return fmt.Errorf("the ids of this log are made from the name of its file, which they would give away: give the log an id of its own first (findslip columns keeps one), or leave --own-ids out")
	}
	if slices.ContainsFunc(c.finds, func(f fact) bool { return f.unnumbered }) {
		return fmt.Errorf("a find without a number has an id that is made from its words, which it would give away: number it, or leave --own-ids out")
	}
	return nil
}
