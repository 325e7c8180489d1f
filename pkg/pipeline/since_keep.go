package pipeline

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
)

var sinceKept = &notice.Kind{
	Code: "since-kept", Severity: notice.Info, Group: "conversion", Spec: "3.6",
	Title:  "what the earlier file has stays",
	Why:    "the new file withholds it or has it coarser, as copies for others do: that is no news of the find",
	Help:   "Nothing to do. To take the value out for good, take it out of the earlier file too.",
	Source: "format of this specification, section 3.6",
	Before: `the new file: "absent": {"/depth": "withheld"}; the earlier one: "depth": {"min": 20, "max": 20, "unit": "cm"}`,
	After:  `"depth": {"min": 20, "max": 20, "unit": "cm"}`,
}

// marked tells whether something of a find is withheld or was made coarser.
func marked(f *find.Find) bool {
	return len(f.Generalised) > 0 || slices.Contains(slices.Collect(maps.Values(f.Absent)), "withheld")
}

// fetch reads those earlier finds of which something may be kept, up to the limit Held.
func (p *pairing) fetch(fresh []traits, o Options) error {
	wanted := map[int]bool{}
	for i, t := range fresh {
		if partner, ok := p.partner[i]; ok && t.marked {
			wanted[partner] = true
		}
	}
	if len(wanted) == 0 {
		return nil
	}
	if o.Since == "-" {
		return &InputError{File: "standard input", Code: "input-missing", Msg: "the earlier conversion is needed twice, for the new file withholds something", Help: "save it to a file and name that with --since"}
	}
	in, read, err := openEarlier(o)
	if err != nil {
		return err
	}
	defer in.Close()
	p.earlier = map[int]*find.Find{}
	most := o.Limits.WithDefaults().Held
	at, left := 0, most
	for e, err := range normalise.Stream(in.Stream, read).Entries {
		if err != nil {
			return fmt.Errorf("the earlier conversion: reading %s: %w", o.Since, err)
		}
		if e.Find == nil {
			continue
		}
		if wanted[at] {
			text, err := find.Marshal(e.Find)
			if err != nil {
				return err
			}
			if left -= int64(len(text)); left < 0 {
				return limit.Over("held", most)
			}
			p.earlier[at] = new(find.Find) // the reader may use the other again
			find.DecodeFind(text, p.earlier[at])
		}
		at++
	}
	return nil
}

// keepEarlier lets stand what an earlier find has where the new one withholds it, or has it coarser.
func keepEarlier(e *find.Entry, earlier *find.Find) error {
	marks := map[string]string{}
	for pointer, reason := range e.Find.Absent {
		if reason == "withheld" {
			marks[pointer] = "withheld here"
		}
	}
	for pointer := range e.Find.Generalised {
		if earlier.Generalised[pointer] == "" {
			marks[pointer] = "coarser here"
		}
	}
	old, err := find.Marshal(earlier)
	if err != nil {
		return err
	}
	text, err := find.Marshal(e.Find)
	if err != nil {
		return err
	}
	var kept []string
	for _, pointer := range slices.Sorted(maps.Keys(marks)) {
		value := valueAt(old, pointer)
		if value == nil || !strings.HasPrefix(pointer, "/") {
			continue
		}
		if text, err = putAt(text, pointer, value); err != nil {
			return err
		}
		if !slices.ContainsFunc(kept, func(k string) bool { return strings.HasPrefix(pointer, k+"/") }) {
			e.Notices.Add(notice.New(sinceKept, pointer, "it is "+marks[pointer]+"; what the earlier file has stays"))
		}
		kept = append(kept, pointer)
	}
	if len(kept) == 0 {
		return nil
	}
	f := new(find.Find)
	find.DecodeFind(text, f)
	for _, pointer := range kept {
		delete(f.Absent, pointer)
		delete(f.Generalised, pointer)
	}
	if len(f.Absent) == 0 {
		f.Absent = nil
	}
	if len(f.Generalised) == 0 {
		f.Generalised = nil
	}
	// What was read of the new file alone no longer is the find.
	*e = find.Entry{Find: f, Index: e.Index, Origin: e.Origin, Size: e.Size, Notices: e.Notices, Carry: e.Carry}
	return nil
}

// valueAt returns what stands at a pointer of members, nil for nothing.
func valueAt(text jsontext.Value, pointer string) jsontext.Value {
	for token := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		var members map[string]jsontext.Value
		if json.Unmarshal(text, &members) != nil {
			return nil
		}
		text = members[notice.Unescape(token)]
	}
	return text
}

// putAt puts a value at a pointer of members and makes the objects on the way that are not there.
func putAt(text jsontext.Value, pointer string, value jsontext.Value) (jsontext.Value, error) {
	token, rest, deeper := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	token = notice.Unescape(token)
	members := map[string]jsontext.Value{}
	if len(text) > 0 {
		if err := json.Unmarshal(text, &members); err != nil {
			return nil, err
		}
	}
	if deeper {
		inner, err := putAt(members[token], "/"+rest, value)
		if err != nil {
			return nil, err
		}
		value = inner
	}
	members[token] = value
	return json.Marshal(members)
}
