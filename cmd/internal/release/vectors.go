package release

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"github.com/findslip/findslip/cmd/internal/suite"
)

// vectorsFile holds the ids of the vectors of a release.
const vectorsFile = "vectors.json"

// A vector is what is kept of a vector of the conformance suite: what its id stands for.
type vector struct {
	ID           string   `json:"id"`
	Folder       string   `json:"folder"`
	Operation    string   `json:"operation"`
	Outcome      string   `json:"outcome"`
	Requirements []string `json:"requirements"`
}

// vectorRows lists the vectors of a project, one a line.
func vectorRows(project fs.FS) ([]byte, error) {
	all, err := suite.Load(project)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(all, func(a, b *suite.Vector) int { return strings.Compare(a.ID, b.ID) })
	rows := make([][]byte, len(all))
	for i, v := range all {
		text, err := json.Marshal(vector{v.ID, v.Folder, v.Operation, v.Outcome, v.Requirements})
		if err != nil {
			return nil, err
		}
		rows[i] = append([]byte("  "), text...)
	}
	return slices.Concat([]byte("[\n"), bytes.Join(rows, []byte(",\n")), []byte("\n]\n")), nil
}

// compareVectors says what changed from the vectors of one version to those of the next. An id that
// stands for something else now was given out again, which is never allowed; a vector that is asked
// of everybody now shuts out programs that met the older version.
func compareVectors(old, now map[string]vector) Changes {
	var found Changes
	for _, id := range slices.Sorted(maps.Keys(old)) {
		was, where := old[id], "vector "+id
		is, there := now[id]
		switch {
		case !there:
			found.add(Compatible, where, "is not asked any more")
		case was.Operation != is.Operation || was.Outcome != is.Outcome:
			found.add(Breaking, where, "the id stands for another vector now")
		case was.Folder != is.Folder && is.Folder == "required":
			found.add(Breaking, where, "was %s, is required now", was.Folder)
		case was.Folder != is.Folder:
			found.add(Compatible, where, "was %s, is %s now", was.Folder, is.Folder)
		case !slices.Equal(was.Requirements, is.Requirements):
			found.add(Documentation, where, "serves other requirements")
		}
	}
	for _, id := range slices.Sorted(maps.Keys(now)) {
		if _, there := old[id]; !there {
			found.add(Compatible, "vector "+id, "a new vector")
		}
	}
	found.sort()
	return found
}
