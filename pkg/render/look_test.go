package render

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/notice"
)

// The colours of the pages, by day and by night: text has a contrast of 4.5 to 1, what carries meaning
// beside it 3 to 1. Source: W3C, Web Content Accessibility Guidelines 2.2, success criteria 1.4.3 and
// 1.4.11, with the contrast ratio and the relative luminance as defined there.
func TestColoursCanBeRead(t *testing.T) {
	sets := regexp.MustCompile(`:root \{([^}]*)\}`).FindAllStringSubmatch(lookText, -1)
	if len(sets) != 2 || !strings.Contains(lookText, "@media screen and (prefers-color-scheme: dark)") {
		t.Fatalf("%d sets of colours, want one and another for dark screens", len(sets))
	}
	for i, set := range sets {
		colours := map[string]float64{}
		for _, m := range regexp.MustCompile(`--([a-z]+): #([0-9a-f]{3,6});`).FindAllStringSubmatch(set[1], -1) {
			colours[m[1]] = luminance(t, m[2])
		}
		for _, pair := range []struct {
			front, back string
			least       float64
		}{{"ink", "paper", 4.5}, {"soft", "paper", 4.5}, {"ink", "aim", 4.5}, {"error", "paper", 3}, {"warning", "paper", 3},
			{"info", "paper", 3}, {"caution", "paper", 3}} {
			a, okA := colours[pair.front]
			b, okB := colours[pair.back]
			if contrast := (max(a, b) + 0.05) / (min(a, b) + 0.05); !okA || !okB || contrast < pair.least {
				t.Errorf("set %d: %s on %s has a contrast of %.2f, want %.1f", i+1, pair.front, pair.back, contrast, pair.least)
			}
		}
	}
	if colour := regexp.MustCompile(`#[0-9a-f]{3,6}\b`).FindString(strings.Split(strings.Split(pageText, "</style>")[0],
		"<style>")[1]); colour != "" {
		t.Errorf("the page has the colour %s of its own, which is the same by day and by night", colour)
	}
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	if len(hex) == 3 {
		hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
	}
	n, err := strconv.ParseUint(hex, 16, 32)
	if err != nil || len(hex) != 6 {
		t.Fatalf("#%s is no colour", hex)
	}
	linear := func(v uint64) float64 {
		c := float64(v&255) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(n>>16) + 0.7152*linear(n>>8) + 0.0722*linear(n)
}

// A notice of a whole find has no place within it, and no sign that stands for one.
func TestPageNamesNoEmptyPlace(t *testing.T) {
	d := Document{Finds: 1}
	d.Notices = notice.List{{Kind: bad, Message: "something is missing",
		Location: notice.Location{Find: "7", Pointer: "/finds/0"}}}
	var b bytes.Buffer
	if err := HTML(&b, d); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), `<a href="#"`) || !strings.Contains(b.String(), "Something is missing") {
		t.Error("an empty place is written")
	}
}
