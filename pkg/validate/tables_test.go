package validate

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/vocabulary"
)

func TestTablesLoad(t *testing.T) {
	if _, err := loadTables(); err != nil {
		t.Fatal(err)
	}
}

// TestTablesSpeakOfKnownCodes holds every code of schema/data to the published lists, so that a
// renamed code cannot silence a rule.
func TestTablesSpeakOfKnownCodes(t *testing.T) {
	tables := theTables()
	check := func(list, code, where string) {
		t.Helper()
		if !vocabulary.Get(list).Has(code) {
			t.Errorf("%s names %s, which is not in the list %s", where, code, list)
		}
	}
	for group, codes := range tables.groups {
		list := "object-class"
		if strings.HasPrefix(group, "material-") {
			list = "material"
		}
		for code := range codes {
			check(list, code, "class-groups "+group)
		}
	}
	for class, row := range tables.materials {
		check("object-class", class, "class-material")
		for _, code := range append(row.Improbable, row.Only...) {
			check("material", code, "class-material "+class)
		}
	}
	for _, row := range tables.firstUse {
		for _, code := range row.Materials {
			check("material", code, "first-use "+row.ID)
		}
		for _, code := range row.Techniques {
			check("technique", code, "first-use "+row.ID)
		}
		if row.Verified == "" {
			t.Errorf("first-use %s does not say what was seen of it", row.ID)
		}
	}
	for _, row := range tables.things.Rows {
		for _, code := range row.Of {
			check("material", code, "things "+row.ID)
		}
	}
}

// TestRuleCodesAreKnown holds the codes that rules name in their text to the published lists.
func TestRuleCodesAreKnown(t *testing.T) {
	for list, codes := range cases.Table[map[string]string](t, "TestRuleCodesAreKnown") {

		for _, code := range strings.Fields(codes) {
			if !vocabulary.Get(list).Has(code) {
				t.Errorf("a rule names %s, which is not in the list %s", code, list)
			}
		}
	}
}
