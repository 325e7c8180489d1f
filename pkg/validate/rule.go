package validate

import (
	"io/fs"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// A Rule is a Kind of notice and the check that finds it. One of Check, Header, Across and Log is set; a rule
// that looks at finds and at the report has both Check and Header.
type Rule struct {
	notice.Kind

	// Check looks at one find.
	Check func(c *Case, say Say)
	// Header looks at the report without its finds: people, permissions, outings.
	Header func(c *Case, say Say)
	// Across returns a fresh check for one run, which may remember what it has seen.
	Across func() Across
	// Log compares the finds of the whole log, after the last of them. The case has no find.
	Log func(c *Case, log *Roll, say SayOf)
}

// Say records a notice of the rule at a pointer: relative to the find for Check, from the top of
// the report for Header. The message says what was found; it never quotes a position, a name or an
// address.
type Say func(pointer, message string)

// A Case is what a rule sees: one find, and the report that it stands in. A rule only reads it.
type Case struct {
	Find       *find.Find
	Report     *find.Report     // the header; its Finds are empty
	Permission *find.Permission // the one that the find or its outing names, or nil
	Outing     *find.Outing     // the one that the find names, or nil
	Settings   *Settings
	AsOf       edtf.Day // the day that counts as today
	Files      fs.FS    // the pictures beside the report; nil: they cannot be looked at

	facts facts  // what several rules ask of the find
	said  *said  // takes what the rules say
	run   *frame // what the finds of a run have in common; nil: nothing
}

// NotChecked says that the rule could not be applied here because something it needs is missing:
// an area, a law table, a picture. It is counted and shown, and is never a pass.
func (c *Case) NotChecked() {
	if c.said != nil {
		c.said.notChecked = append(c.said.notChecked, c.said.rule)
	}
}

// Across is a check over all finds of a run, which sees them one by one.
type Across struct {
	// Find sees each find in order. It keeps words and numbers, never the find itself nor what stands in it.
	Find func(c *Case, ref Ref, say Say)
	// End is called once after the last find and may speak of any of them.
	End func(c *Case, say SayOf)
}

// SayOf records a notice about a find seen earlier, or about the report itself.
type SayOf func(ref Ref, pointer, message string)

// A Ref is the way back to a find seen earlier.
type Ref struct {
	Index  int
	Label  string
	Origin find.Origin
}

// reportRef stands for the report itself.
var reportRef = Ref{Index: -1}
