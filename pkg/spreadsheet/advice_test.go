package spreadsheet

import (
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/notice"
)

// TestAdviceWorks does what the help of a notice of reading says, and the notice goes away. What the help says is
// beside each; kinds whose help is that nothing has to be done are not here.
func TestAdviceWorks(t *testing.T) {
	for _, c := range []struct {
		kind          *notice.Kind
		before, after string
		plan          func(m *ColumnMap) // where the help is to edit the plan
	}{
		// rename the heading
		{headingUnknown, "No,Find,Wether\n1,bell,dry\n2,pin,wet\n", "No,Find,Notes\n1,bell,dry\n2,pin,wet\n", nil},
		{headingUnknown, "No,Find,Zork\n1,bell,dry\n2,pin,wet\n", "",
			func(m *ColumnMap) { m.Tables[0].Columns[2].Field = "notes" }},
		{headingClaimed, "No,Find,Depth,Depth\n1,bell,4 in,5 in\n2,pin,6 in,6 in\n",
			"No,Find,Depth,Detector depth\n1,bell,4 in,5 in\n2,pin,6 in,6 in\n", nil},
		{orderContradicts, "No,Find,Date\n1,bell,25/12/2025\n2,pin,12/25/2025\n",
			"No,Find,Date\n1,bell,2025-12-25\n2,pin,2025-12-25\n", nil},
		{nameFrom, "No,Description,Depth\n1,bell,4 in\n2,pin,6 in\n", "No,Find,Depth\n1,bell,4 in\n2,pin,6 in\n", nil},
		{headingsMissing, "1,2026-04-12,bell,4 in\n2,2026-04-13,pin,6 in\n3,2026-04-13,button,6 in\n",
			"No,Date,Find,Depth\n1,2026-04-12,bell,4 in\n2,2026-04-13,pin,6 in\n3,2026-04-13,button,6 in\n", nil},
		{columnByContent, "No,Qwertz,Find\n1,2026-04-12,bell\n2,2026-04-13,pin\n3,2026-04-13,button\n", "",
			func(m *ColumnMap) { m.Tables[0].Columns[1].Field = "found.date" }},
		{columnByContent, "No,Qwertz,Find\n1,2026-04-12,bell\n2,2026-04-13,pin\n3,2026-04-13,button\n",
			"No,Date found,Find\n1,2026-04-12,bell\n2,2026-04-13,pin\n3,2026-04-13,button\n", nil},
		{totalDiffers, "No,Find,Count\n1,bell,2\n2,pin,5\nTotal,,8\n", "No,Find,Count\n1,bell,2\n2,pin,5\nTotal,,7\n", nil},
		// give it a number or a name
		{rowNotAFind, "No,Find,Depth\n1,bell,4 in\nleft early,,\n2,pin,6 in\n",
			"No,Find,Depth\n1,bell,4 in\n3,left boot,\n2,pin,6 in\n", nil},
		{tallyRead, "Outing,Buttons,Coins\n2026-01-03,3,2\n2026-01-04,1,1\n",
			"Date,Find,How many\n2026-01-03,Button,3\n2026-01-03,Coin,2\n", nil},
		{cellUnreadable, "No,Find,Photo\n1,bell,see album\n2,pin,p2.jpg\n", "No,Find,Photo\n1,bell,p1.jpg\n2,pin,p2.jpg\n",
			nil},
		{headingsNone, "Qaz,Wsx\nedc,rfv\ntgb,yhn\n", "No,Find\n1,rfv\n2,yhn\n", nil},
		{headingsNone, "Qaz,Wsx\nedc,rfv\ntgb,yhn\n", "", func(m *ColumnMap) { m.Tables[0].Columns[1].Field = "name" }},
	} {
		said := func(text string, o Options) bool {
			_, list := csvReport(t, text, o)
			return slices.ContainsFunc(list, func(n notice.Notice) bool { return n.Kind == c.kind })
		}
		if !said(c.before, Options{}) {
			t.Errorf("%s is not said of %q", c.kind.Code, c.before)
		}
		o := Options{}
		text := c.after
		if c.plan != nil {
			text = c.before
			m, _, err := ColumnsCSV(strings.NewReader(text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			c.plan(m)
			o.Map = m
		}
		if said(text, o) {
			t.Errorf("%s: %q was done, and it is still said", c.kind.Code, c.kind.Help)
		}
	}
}
