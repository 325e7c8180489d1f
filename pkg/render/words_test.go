package render

import "testing"

// A way that is far longer than any in a record is not printed whole.
func TestLongWaysAreShort(t *testing.T) {
	for pointer, want := range map[string]string{
		"/dimensions/length":                 "dimensions length",
		"/otherDatings/0/period/label":       "otherDatings 0 period label",
		"/extensions/x-a/0/0/0/0/0/0/0/0/42": "extensions x-a 0 … 42",
	} {
		if got := member(pointer); got != want {
			t.Errorf("%s: %q, want %q", pointer, got, want)
		}
	}
}
