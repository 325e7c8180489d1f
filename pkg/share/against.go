package share

import (
	"context"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
)

// AgainstTable holds a finished copy against the table of what its audience may get: it is made anew for that audience
// from itself, and what goes on the way should not have been there. It names finds by their place in the copy, and
// members. What is made anew lies on a shelf meanwhile.
func AgainstTable(ctx context.Context, copied Source, shelf Shelf, a Audience, day string) ([]string, error) {
	o := Options{Audience: a, Day: day, Notes: true}
	if !a.strangers() {
		o.Receiver = "somebody" // these are named, and an embargo does not hold for them
	}
	again, err := CopyTo(ctx, copied, shelf, o)
	if err != nil {
		return nil, fmt.Errorf("holding the copy against the table: %w", err)
	}
	stays := map[string]int{} // the place of a find that stays, and one
	err = again.Each(ctx, func(f *find.Find) error {
		stays[again.Back[f.ID]] = len(stays) + 1
		return nil
	})
	if err != nil {
		return nil, err
	}
	why := map[string]string{}
	for _, out := range again.Out {
		why[out.Find] = out.Why
	}
	out := goneFrom("", membersOf(copied.Head), membersOf(again.Report))
	err = copied.each(ctx, func(i int, f *find.Find) error {
		place := fmt.Sprintf("find %d", i+1)
		if stays[f.ID] == 0 {
			out = append(out, fmt.Sprintf("%s is there (%s)", place, why[findLabel(f)]))
			return nil
		}
		stay, err := again.At(stays[f.ID] - 1)
		for _, member := range goneFrom("", membersOf(f), membersOf(stay)) {
			out = append(out, place+": "+member)
		}
		return err
	})
	return out, err
}

// membersOf are the members of a record as JSON has them.
func membersOf(record any) (out map[string]any) {
	if text, err := json.Marshal(record); err != nil || json.Unmarshal(text, &out) != nil {
		return nil
	}
	return out
}

// madeAnew are members that a copy of a copy has anew, or that say how it was read.
var madeAnew = []string{"/id", "/changed", "/copyOf", "/generator", "/absent", "/finder", "/permission", "/outing",
	"/number", "/partOf", "/associated", "/media", "/people", "/permissions", "/outings", "/generalised", "/columns",
	"/source", "/audience", "/finds", "/findslip", "/idBasis"}

// goneFrom names the members of a record that its copy has no longer, or has coarser.
func goneFrom(at string, old, now map[string]any) (out []string) {
	for _, name := range slices.Sorted(maps.Keys(old)) {
		pointer := at + "/" + name
		if slices.Contains(madeAnew, pointer) || reflect.DeepEqual(old[name], now[name]) {
			continue
		}
		out = append(out, lessOf(pointer, old[name], now[name])...)
	}
	return out
}

// lessOf is what one member has less of: lists item by item, and of a link, which each copy makes anew, only that it is
// gone.
func lessOf(pointer string, old, now any) (out []string) {
	switch was := old.(type) {
	case map[string]any:
		if left, is := now.(map[string]any); is {
			return goneFrom(pointer, was, left)
		}
	case []any:
		if left, is := now.([]any); is && len(left) == len(was) {
			for i := range was {
				out = append(out, lessOf(pointer, was[i], left[i])...)
			}
			return out
		}
	}
	leaf := strings.ReplaceAll("finds"+pointer, "/", ".")
	if now != nil && published().action(leaf, Recorder) == key || reflect.DeepEqual(old, now) {
		return nil
	}
	return []string{pointer[1:]}
}
