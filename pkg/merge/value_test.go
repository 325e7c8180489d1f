package merge_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/merge"
)

// The same find in two logs: which members are asked about, and whether the two are taken for one at all.
func TestSameValue(t *testing.T) {
	const head = "No,Date,Field,Find,Finder,Grid ref,Depth,Weight\n2,"
	for other, asked := range map[string]string{
		`25.3.2026,Long Furlong,thimble,finder-a,SP 52740 90140,15 cm,4.2 g`:     "same-find25.3.2026",
		`25.3.2026,Long Furlong,"thimble, small",finder-a,SP 5274 9014,6 in,4 g`: "same-findname25.3.2026",
		`25.3.2026,Long Furlong,thimble,finder-a,SP 5276 9014,20 cm,5 g`:         "same-finddepthpositionweight25.3.2026",
		`25 Mar 2026,Long Furlong,musket ball,finder-a,SP 5279 9014,6 in,28 g`:   "",
		`25 Mar 2026,Long Furlong,thimble,finder-a,SP 5274 9014,over 15 cm,4 g`:  "same-finddepth",
	} {
		from := files("a.csv", head+"25 Mar 2026,Long Furlong,thimble,finder-a,SP 5274 9014,6 in,4 g",
			"b.csv", head+other)
		m, got := read(t, from, []string{"a.csv", "b.csv"}, nil), ""
		if slices.ContainsFunc(m.Decisions.Questions, func(q merge.Question) bool { return q.Kind == "same-find" }) {
			m, got = read(t, from, []string{"a.csv", "b.csv"}, decide(t, m, "same-find", "one")), "same-find"
		}
		for _, q := range m.Decisions.Questions {
			if q.Member != "permission" {
				got += q.Member
			}
		}
		if strings.Contains(strings.Join(m.Lost, ""), `"25.3.2026"`) { // what goes is said
			got += "25.3.2026"
		}
		if got != asked {
			t.Errorf("%s: %s is asked, not %s", other, got, asked)
		}
	}
}

// An answer stays when another answer counts people anew.
func TestAnswersStay(t *testing.T) {
	const head = "No,Date,Field,Landowner,Find,Finder\n"
	from := files("a.csv", head+"1,2026-03-25,Long Furlong,O. Hebble,thimble,J. Quill\n",
		"b.csv", head+"7,2026-03-26,Long Furlong,O. Hebble,button,Jessamy Quill\n"+
			"2,2026-03-26,Chapel Piece,E. Marl,jetton,finder-z\n",
		"c.csv", head+"4,2026-03-27,Chapel Piece,,buckle,finder-y\n")
	m := read(t, from, []string{"a.csv", "b.csv", "c.csv"}, nil)
	for i := range m.Decisions.Questions {
		m.Decisions.Questions[i].Decision = m.Decisions.Questions[i].Choices[0] // one, or a
	}
	if m = read(t, from, []string{"a.csv", "b.csv", "c.csv"}, m.Decisions); len(m.Stale) > 0 {
		t.Errorf("%q no longer fit", m.Stale)
	}
	m = read(t, from, []string{"a.csv", "b.csv", "c.csv"}, nil)
	pages, err := m.Pages(t.Context(), "")
	for _, p := range pages {
		if err != nil || bytes.Contains(p.HTML, []byte("person-")) {
			t.Errorf("%s has an id that its owner does not know: %v", p.Name, err)
		}
	}
}
