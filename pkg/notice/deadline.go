package notice

import (
	"cmp"
	"slices"
	"strings"
)

// A Deadline is a day by which something has to be told to somebody: one that the record states, or
// one that was counted from the day of the find under a table of law. It is a prompt and no advice in
// law. Nothing in it quotes a name.
type Deadline struct {
	// the last day, ISO 8601; empty: the source names no number of days, or the day of the find is not known
	Day     string
	Time    string // the time limit in the words of the source: "14 days", "immediately"
	What    string // what is to be told
	Source  string // where the time limit is written
	Checked string // the day on which the source was read, ISO 8601; empty where the record itself is the source
	Status  DeadlineStatus
	// days from the day that counts as today to Day; below zero where it is past. Of no meaning without Dated
	Left  int
	Dated bool
	Location
}

// DeadlineStatus is how a deadline stands.
type DeadlineStatus string

// How a deadline stands.
const (
	DeadlineOpen DeadlineStatus = "open" // no report is recorded
	DeadlinePast DeadlineStatus = "past" // no report is recorded, and the day is over
	DeadlineMet  DeadlineStatus = "reported"
)

// A Deadlines is a list of deadlines.
type Deadlines []Deadline

// Sort orders the list by day; those without a day come last. Then by file, place and words.
func (l Deadlines) Sort() {
	slices.SortStableFunc(l, func(a, b Deadline) int {
		if (a.Day == "") != (b.Day == "") {
			return strings.Compare(b.Day, a.Day)
		}
		return cmp.Or(strings.Compare(a.Day, b.Day), strings.Compare(a.File, b.File), ComparePointers(a.Pointer, b.Pointer),
			a.Row-b.Row, a.Line-b.Line, strings.Compare(a.What, b.What), strings.Compare(a.Source, b.Source))
	})
}
