package pipeline

import (
	"bytes"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// objectCost is what an object of a find costs in memory at least, in bytes: {} is one.
const objectCost = 100

// findCost is what a find and its copy cost at least, however little it says.
const findCost = 300

// holding passes a stream on to whoever holds it whole, up to the limits Held and Finds.
func holding(in *find.Stream, limits limit.Limits) *find.Stream {
	limits = limits.WithDefaults()
	out := *in
	out.SetEntries(func(yield func(*find.Entry, error) bool) {
		left, finds := limits.Held, limits.Finds
		for e, err := range in.Entries {
			if err == nil && e.Find != nil {
				raw := []byte(e.Raw)
				if raw == nil {
					raw, _ = find.Marshal(e.Find)
				}
				finds--
				if left -= max(findCost, int64(len(raw)), objectCost*int64(bytes.Count(raw, []byte("{")))); left < 0 {
					err = limit.Over("held", limits.Held)
				} else if finds < 0 {
					err = limit.Over("finds", limits.Finds)
				}
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
	})
	return &out
}
