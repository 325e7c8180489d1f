package markup

import (
	"encoding/xml"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
)

// An element without content counts as one that has some: <d/> as <d></d>.
func TestTooDeep(t *testing.T) {
	for in, want := range map[string]bool{"<a><b><c></c></b></a>": false, "<a><b><c/></b></a>": false,
		"<a><b><c><d></d></c></b></a>": true, "<a><b><c><d/></c></b></a>": true} {
		d, got := depth{most: 3}, false
		for i := range len(in) {
			got = d.tooDeep(in[i]) || got
		}
		if got != want {
			t.Errorf("%s: too deep is %v, want %v", in, got, want)
		}
	}
}

// What the XML decoder of the library says of the depth is what the count has to say.
func TestDepthAsTheDecoder(t *testing.T) {
	for _, in := range []string{
		"<a/>", "<a></a>", "<a><b/><b></b><c d='>' e=\"/>\">x</c></a>", "<?xml version='1.0'?><a><!-- <b> <c> <d> --></a>",
		"<a><![CDATA[<b><c>]]><d><![CDATA[]]]]></d></a>", "<a><b c='!--'><d/></b><!----><?p <x> ?></a>", "<a\n><b\t/></a\n>",
		"<a b='x/'><c/></a>", "<a><b c=\"it's\"/></a>", "<a><b c='![CDATA['><d></d></b></a>",
	} {
		d, open, at := depth{most: 64}, int64(0), 0
		dec := xml.NewDecoder(strings.NewReader(in))
		dec.Strict = true
		for {
			tok, err := dec.RawToken()
			if err != nil {
				break
			}
			to := int(dec.InputOffset())
			switch tok.(type) {
			case xml.StartElement:
				if open++; strings.HasSuffix(in[at:to], "/>") {
					open--
				}
			case xml.EndElement:
				if strings.HasPrefix(in[at:to], "</") {
					open--
				}
			}
			got := d.open
			for ; at < to; at++ {
				got = d.add(in[at])
			}
			if got != open {
				t.Errorf("%s: %d open at byte %d, want %d", in, got, to, open)
			}
		}
		if at != len(in) {
			t.Errorf("%s was not read to its end", in)
		}
	}
}

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
