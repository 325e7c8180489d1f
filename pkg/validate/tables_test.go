package validate

import (
	"strings"
	"testing"

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
	for list, codes := range map[string]string{
		"object-class": "coin coin-group token button jetton ball cartridge explosive artillery-shot unidentified " +
			"other human-remains coffin-part bone-remains modern-rubbish natural",
		"material": "lead iron cast-iron steel unknown other metal-unknown composite",
		"trace": "unfired fired-impact fired-rifling melted-whole melted-part flattened hammered bent " +
			"chewed-animal chewed-human cut carved broken dented clipped pierced filed plough-struck spade-struck scraped-clean",
		"completeness":         "complete nearly-complete unknown fragment incomplete",
		"corrosion":            "metal-gone weeping-iron bronze-disease white-lead-powder",
		"cleaning":             "none unknown chemical electrolysis wire-brush conserved",
		"hazard":               "explosive ammunition human-remains lead toxic",
		"weight-state":         "dirty wet with-fixing unknown",
		"magnetic":             "yes no",
		"wear":                 "heavy worn-flat",
		"damage-when":          "in-use in-ground plough recovery cleaning",
		"dating-event":         "made used lost",
		"identification-basis": "mark type parallel material-test opinion guess description detector-number by-eye magnet",
		"opinion-seen":         "in-hand photo description",
		"use":                  "military",
		"photo-view":           "front back side edge mark-detail in-hole hole-section group landscape unknown other",
		"mark-kind":            "patent",
		"disposition": "lent-for-identification lodged-with-recorder statutory-authority museum " +
			"returned-to-landowner landowner gifted sold recycled deselected",
		"notification-status": "open not-sent sent acknowledged returned unknown",
		"permission-basis":    "heritage-consent public-body-licence archaeologist-project",
		"sensitivity-reason":  "hoard burial undug-site legal-process protected-site ordnance",
		"relation":            "same-hole touching joins",
		"lot-rule":            "same-hole same-spot",
		"detecting-method":    "eyes-only sieving",
		"technique":           "gilded silvered",
	} {
		for _, code := range strings.Fields(codes) {
			if !vocabulary.Get(list).Has(code) {
				t.Errorf("a rule names %s, which is not in the list %s", code, list)
			}
		}
	}
}
