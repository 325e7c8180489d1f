package merge

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// Every leaf that holds an id is a link. The leaves are those of the published table of classes.
func TestLinks(t *testing.T) {
	raw, err := os.ReadFile("../../schema/data/sharing.json")
	if err != nil {
		t.Fatal(err)
	}
	var table struct{ Leaves map[string]string }
	if err := json.Unmarshal(raw, &table); err != nil {
		t.Fatal(err)
	}
	const text = `{"id":"x","finder":"finder","keeper":"keeper","permission":"permission","outing":"outing",
"partOf":"partOf","associated":[{"find":"associated.find"}],"replaces":["replaces"],
"position":{"by":"position.by"},"otherPositions":[{"by":"otherPositions.by"}],"depth":{"by":"depth.by"},
"otherDepths":[{"by":"otherDepths.by"}],"identification":{"by":"identification.by"},"media":[{"by":"media.by"}],
"owners":[{"person":"owners.person"}],"custody":[{"from":"custody.from","to":"custody.to"}],
"recorded":{"by":"recorded.by"},"opinions":[{"by":"opinions.by","says":{"depth":{"by":"said"}}}]}`
	f := new(find.Find)
	if err := find.DecodeFind([]byte(text), f); err != nil {
		t.Fatal(err)
	}
	var seen []string
	links(f, func(_ string, id *string) {
		seen = append(seen, *id)
		*id += "!"
	})
	if !strings.Contains(string(f.Opinions[0].Says), `"said!"`) {
		t.Errorf("what an opinion says keeps %s", f.Opinions[0].Says)
	}
	holds := []string{"by", "finder", "keeper", "person", "from", "to", "permission", "outing", "partOf", "find",
		"replaces"}
	for leaf := range table.Leaves {
		name, ok := strings.CutPrefix(leaf, "finds.")
		if last := name[strings.LastIndexByte(name, '.')+1:]; ok && slices.Contains(holds, last) &&
			name != "notified.to" && !slices.Contains(seen, name) { // an authority, in words
			t.Errorf("%s holds an id and is no link", leaf)
		}
	}
}

func TestAlike(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{{"a. hill", "anna hill", true}, {"anna hill", "alan hill", false}, {"finder-a", "finder-b", false},
		{"finder-1", "finder-2", false}, {"katherine", "catherine", true}, {"anna", "anne", false}} {
		if alike(c.a, c.b) != c.want {
			t.Errorf("%s, %s: %v", c.a, c.b, !c.want)
		}
	}
}
