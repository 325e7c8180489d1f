package markup

import (
	"encoding/xml"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
)

// FuzzRead: a file of any sort is read to its end or refused, and an element that is too deep is
// refused wherever it stands.
func FuzzRead(f *testing.F) {
	for _, s := range []string{"<gpx/>", "<gpx><wpt><name>a</name></wpt></gpx>",
		"<gpx><a><b><c><d/></c></b></a></gpx>", "<gpx><!-- <a><b> --><![CDATA[<a>]]></gpx>",
		"<!DOCTYPE gpx [<!ENTITY a 'b'>]><gpx>&a;</gpx>", "<?xml version='1.0' encoding='x'?><gpx a='>' b=\"<\"/>"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, in string) {
		deepest := 0
		err := Read(strings.NewReader(in), "gpx", limit.Limits{Record: 1 << 10, Header: 1 << 12, Nesting: 3},
			func(x *Reader, start xml.StartElement) error {
				x.Record()
				var into func(x *Reader, depth int) error
				into = func(x *Reader, depth int) error {
					deepest = max(deepest, depth)
					return x.Children(func(x *Reader, start xml.StartElement) error { return into(x, depth+1) })
				}
				if start.Name.Local == "wpt" {
					var v struct {
						Name string `xml:"name"`
					}
					return x.Decode(&start, &v)
				}
				return into(x, 2)
			})
		if err == nil && deepest > 3 {
			t.Fatalf("%d elements stand in each other", deepest)
		}
	})
}
