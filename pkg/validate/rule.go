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

	notChecked  func()
	sites       sites      // the grounds of this run
	placement   *placement // how the find stands to its ground, once asked
	spoken      *spoken    // what the words of the find speak of, once looked through
	spokenStore spoken
}

// NotChecked says that the rule could not be applied here because something it needs is missing:
// an area, a law table, a picture. It is counted and shown, and is never a pass.
func (c *Case) NotChecked() {
	if c.notChecked != nil {
		c.notChecked()
	}
}

// Across is a check over all finds of a run.
type Across struct {
	// Find sees each find in order. It keeps what it needs, never the find itself.
	Find func(c *Case, ref Ref, say Say)
	// End is called once after the last find and may speak of any of them.
	End func(c *Case, say SayOf)
}

// SayOf records a notice about a find seen earlier, or about the report for ReportRef.
type SayOf func(ref Ref, pointer, message string)

// A Ref is the way back to a find seen earlier.
type Ref struct {
	Index  int
	Label  string
	Origin find.Origin
}

// ReportRef stands for the report itself.
var ReportRef = Ref{Index: -1}

// Settings are the figures that rules compare with. Those marked as our proposal have no source;
// they can be changed, and a changed one is shown in the report.
type Settings struct {
	RecordedLate    int        // days from finding to recording that make it a memory record; 30, common practice
	OutingSlack     int        // minutes before and after an outing that still belong to it; 60, our proposal
	DefaultDates    int        // firsts of a month among the days of a log that look filled in by a machine; 3, our proposal
	PhotoSlack      int        // minutes after the end of an outing in which a picture may still be of the hole; 15, our proposal
	SameSpotFinds   int        // finds at one identical point that look pasted; 3, our proposal
	HandDug         int        // cm beyond which a hole is no longer dug by hand; 200, our proposal
	PloughDepth     int        // cm taken where the plough depth is not known; 30, usual for ploughing in the United Kingdom
	TapeWidth       float64    // cm that a depth measured with a tape may leave open; 5, our proposal
	SignalWidth     float64    // cm below which a detector's display tells nothing; 2.5, our proposal
	CoinSize        int        // mm below which an object counts as coin-sized; 30, our proposal
	SignalDepth     int        // cm from beyond which a coin-sized object does not answer; 60, common practice
	LogDepths       int        // depths in a log from which its figures are judged together; 5, our proposal
	FieldRadius     int        // metres that the circle of a lot gathered over a field must hold; 50, our proposal
	AuditDays       int        // days after which an object without whereabouts is asked for; 365
	CampMetres      int        // metres within which the traces of a camp are looked at together; 50, our proposal
	ProtectedBuffer int        // metres around a protected area that are spoken of too; 10, our proposal
	Protected       *Protected // protected areas supplied by the user; nil: none, and protected-ground is not checked
	LotPercent      float64    // per cent between the weight of a lot and its groups; 2, our proposal
	LotGrams        float64    // grams between the weight of a lot and its groups, if that is more; 0.5, our proposal
	ScatterFinds    int        // valuable finds close together that are worth a hint; 3
	CampKinds       int        // of the four sorts that a camp leaves behind, those that must lie together; 3, our proposal
	LeadHandful     int        // lead projectiles at one site that are worth a notice; 5
	LeadMany        int        // lead projectiles at one site that are worth advice; 50
	SolidPercent    int        // per cent of a solid body's weight below which a solid object is doubted; 20, our proposal
	BallTenths      int        // tenths of a mm between the size of a lead ball measured and worked out; 7, our proposal
	WearPercent     int        // per cent of its weight that a worn and dug coin may have lost; 30, our proposal
	AboutYears      int        // years that "about" may reach beyond a stated year; 10, our proposal
	DeadlineDays    int        // days before a deadline from which it is shown; 3, our proposal
	ScatterMetres   int        // metres within which valuable finds are looked at together; 10, our proposal
	PositionDecimal int        // most decimals of a degree that mean anything; 7, practice of RFC 7946
}

// DefaultSettings returns the documented defaults.
func DefaultSettings() Settings {
	return Settings{RecordedLate: 30, OutingSlack: 60, DefaultDates: 3, PhotoSlack: 15, SameSpotFinds: 3, HandDug: 200, PloughDepth: 30,
		TapeWidth: 5, SignalWidth: 2.5, CoinSize: 30, SignalDepth: 60, LogDepths: 5, LotPercent: 2, LotGrams: 0.5, ScatterFinds: 3, CampKinds: 3, FieldRadius: 50, AuditDays: 365, CampMetres: 50, ProtectedBuffer: 10,
		LeadHandful: 5, LeadMany: 50, SolidPercent: 20, BallTenths: 7, WearPercent: 30, AboutYears: 10, DeadlineDays: 3, ScatterMetres: 10, PositionDecimal: 7}
}
