package validate

import (
	"io/fs"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// A Rule is a Kind of notice and the check that finds it. Exactly one of Check, Header and Across
// is set.
type Rule struct {
	notice.Kind

	// Check looks at one find.
	Check func(c *Case, say Say)
	// Header looks at the report without its finds: people, permissions, outings.
	Header func(c *Case, say Say)
	// Across returns a fresh check for one run, which may remember what it has seen.
	Across func() Across
}

// Say records a notice of the rule at a pointer: relative to the find for Check, from the top of
// the report for Header. The message says what was found; it never quotes a position, a name or an
// address.
type Say func(pointer, message string)

// A Case is what a rule sees: one find and the report it stands in. A rule only reads it.
type Case struct {
	Find       *find.Find
	Report     *find.Report     // the header; its Finds are empty
	Permission *find.Permission // the one the find names, or nil
	Outing     *find.Outing     // the one the find names, or nil
	AsOf       edtf.Day         // the day that counts as today
	Settings   *Settings
	Files      fs.FS // the pictures beside the report; nil: they cannot be looked at

	notChecked     func() // in tests
	bench          *bench
	deadline       func(ref *Ref, d notice.Deadline) // nil ref: of this find
	sites          sites                             // the grounds of this run
	placement      *placement                        // how the find stands to its ground, once asked
	spoken         *spoken                           // what the words of the find speak of, once looked through
	mostPicture    int64                             // bytes that are read of one picture
	spokenStore    spoken
	placementStore placement
	facts          facts
	ofOuting       *outingFacts     // of the one the find names, or nil
	ofPermission   *permissionFacts // of the one the find names, or nil
	sums           censusSums       // once asked
	census         *census          // of this run
	sighted        bool
	sighting       sighting // once the find is entered in the census
	traitsFound    trait
	traitsKnown    bool
	codesSeen      bool
	oddCodes       []notListed // once looked for
}

// NotChecked says that the rule could not be applied here because something it needs is missing:
// an area, a law table, a picture. It is counted and shown, and is never a pass.
func (c *Case) NotChecked() {
	if c.notChecked != nil {
		c.notChecked()
	} else if c.bench != nil {
		c.bench.notChecked[c.bench.rule]++
	}
}

// Across is a check over all finds of a run.
type Across struct {
	// Find sees each find in order. It keeps what it needs, never the find itself.
	Find func(c *Case, ref Ref, say Say)
	// Alone says that Find looks at no other find, keeps nothing and needs no ref: it is then called in
	// any order and for several finds at the same time.
	Alone bool
	// Ahead, if there is one, works out what Find will ask the case; it is called in any order and for
	// several finds at the same time.
	Ahead func(c *Case)
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
