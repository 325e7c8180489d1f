// Package share makes copies of a find report for others: it withholds and makes coarser what an
// audience may not see, says so in the record, and looks through the finished bytes for leaks.
//
//	copy, err := share.Copy(ctx, report, share.Options{Audience: share.Public})
//	leaks, err := share.Leaks(ctx, data, report, copy.Report, share.Public, limit.Limits{})
//
// # Terms
//
// Every leaf of a report has a sharing class, and the table (schema/data/sharing.json) says what each
// audience gets of each class; a leaf that is not in the table is withheld. The finder can make the table
// stricter in a file (ReadPolicy). A cell is a square of the one fixed grid of degrees with its origin at 0;
// all finds of a piece of land stand in one cell. Nothing is ever moved at random: the mean of many random
// copies would give the place away. What was told before stands in the register (package register).
//
// This package is unstable: it may change between any two versions.
package share

import (
	"fmt"
	"slices"
	"strings"
)

// Audience is for whom a copy is made.
type Audience string

// The audiences.
const (
	Self      Audience = "self"
	Partner   Audience = "partner"
	Club      Audience = "club"
	Landowner Audience = "landowner"
	Expert    Audience = "expert"
	Recorder  Audience = "recorder"
	Public    Audience = "public"
)

// Audiences returns all audiences.
func Audiences() []Audience {
	return []Audience{Self, Partner, Club, Landowner, Expert, Recorder, Public}
}

// ParseAudience reads the name of an audience.
func ParseAudience(s string) (Audience, error) {
	if slices.Contains(Audiences(), Audience(s)) {
		return Audience(s), nil
	}
	var names []string
	for _, a := range Audiences() {
		names = append(names, string(a))
	}
	return "", fmt.Errorf("audience %q is not one of %s", s, strings.Join(names, ", "))
}

// answers reports whether what comes back from an audience is taken up into the log.
func (a Audience) answers() bool { return a != Public && a != Self }

// coarse reports whether an audience sees no exact place.
func (a Audience) coarse() bool { return a == Public || a == Expert || a == Club }

// strangers reports whether an audience may be anybody: what it reads may be put beside anything.
func (a Audience) strangers() bool { return a == Public || a == Expert }
