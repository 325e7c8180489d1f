// Package share makes copies of a find report for others: it withholds and makes coarser what an
// audience may not see, says so in the record, and looks through the finished bytes for leaks.
//
//	copy, err := share.Copy(report, share.Options{Audience: share.Public})
//	leaks := share.Leaks(data, report, copy)
//
// # Terms
//
// The policy is a table of members by audience (schema/data/sharing.json). A cell is a square of
// the one fixed grid of degrees with its origin at 0; a position in it becomes its centre. Nothing
// is ever moved at random: the mean of many random copies would give the place away.
package share

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/schema"
)

// Audience is for whom a copy is made.
type Audience string

// The audiences.
const (
	Self      Audience = "self"
	Partner   Audience = "partner"
	Landowner Audience = "landowner"
	Expert    Audience = "expert"
	Recorder  Audience = "recorder"
	Public    Audience = "public"
)

// Audiences returns all audiences.
func Audiences() []Audience { return []Audience{Self, Partner, Landowner, Expert, Recorder, Public} }

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

// The actions of the policy.
const (
	keep     = "keep"
	withhold = "withhold"
	drop     = "drop"
	codes    = "codes"
	cell     = "cell"
	cellTen  = "cell-0.1"
	region   = "region"
	month    = "month"
	band     = "plough-band"
	renumber = "renumber"
)

// policy is the table: member to audience to action.
var policy = sync.OnceValue(func() map[string]map[Audience]string {
	raw, err := schema.Data.ReadFile("data/sharing.json")
	if err != nil {
		return nil
	}
	var file struct {
		Members []map[string]string `json:"members"`
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		return nil // the test of the table fails; a copy then drops everything
	}
	out := map[string]map[Audience]string{}
	for _, row := range file.Members {
		actions := map[Audience]string{}
		for name, action := range row {
			actions[Audience(name)] = action
		}
		out[row["member"]] = actions
	}
	return out
})

// action returns what is to be done with a member; what the table does not know is dropped.
func action(member string, a Audience) string {
	if a == Self {
		return keep
	}
	if act := policy()[member][a]; act != "" {
		return act
	}
	return drop
}
