package repair_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/repair"
)

// takenAt is a TIFF structure with a position in whole degrees: tags of CIPA DC-008 section 4.6.6.
func takenAt(north, east uint32) []byte {
	b := binary.BigEndian
	out := b.AppendUint32([]byte("MM\x00*"), 8)
	entry := func(tag, kind uint16, count uint32, value []byte) {
		out = b.AppendUint16(b.AppendUint16(out, tag), kind)
		out = append(b.AppendUint32(out, count), value...)
	}
	out = b.AppendUint16(out, 1)
	entry(0x8825, 4, 1, b.AppendUint32(nil, 26))
	out = b.AppendUint16(b.AppendUint32(out, 0), 4)
	entry(1, 2, 2, []byte("N\x00\x00\x00"))
	entry(2, 5, 3, b.AppendUint32(nil, 80))
	entry(3, 2, 2, []byte("E\x00\x00\x00"))
	entry(4, 5, 3, b.AppendUint32(nil, 104))
	out = b.AppendUint32(out, 0)
	for _, n := range []uint32{north, 1, 0, 1, 0, 1, east, 1, 0, 1, 0, 1} {
		out = b.AppendUint32(out, n)
	}
	return out
}

const unfilled = `No,Find,Class,Period,Picture
1,1864 Indian Head cent,,,
2,flat button,button,,
3,musket ball,,1642,
4,large cent 1820 or 1822,,,
5,3-ringer,,,e.tif
6,crotal bell,,,
`

// TestWhatFindsLack: the class by the name, the age by the one year on a coin, the place by the picture. Nothing is
// proposed where something stands, and nothing without being asked.
func TestWhatFindsLack(t *testing.T) {
	o := func() pipeline.Options {
		return pipeline.Options{Stdin: strings.NewReader(unfilled), From: pipeline.CSV, To: pipeline.Findslip,
			Read: normalise.Options{AsOf: edtf.Day{Year: 2026, Month: 11, Day: 29}},
			Files: fstest.MapFS{"e.tif": {Data: takenAt(52, 1)}, "6_front.tif": {Data: takenAt(53, 2)},
				"IMG_0001.tif": {Data: takenAt(54, 3)}}}
	}
	plain, err := repair.Propose(context.Background(), "-", o())
	if err != nil || len(plain.Proposals) != 0 {
		t.Fatalf("unasked: %v, %v", plain.Proposals, err)
	}
	p, err := repair.ProposeToFill(context.Background(), "-", o())
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for i := range p.Proposals {
		x := &p.Proposals[i]
		got[x.Number+x.Pointer] = x.After
		x.Accepted = true
	}
	for at, want := range map[string]string{"1/objectClass": "coin", "1/dating/verbatim": "1864", "2/objectClass": "",
		"3/objectClass": "ball", "3/dating/verbatim": "", "4/dating/verbatim": "",
		"5/position/verbatim": "52.000000, 1.000000", "6/position/verbatim": "53.000000, 2.000000",
		"1/position/verbatim": ""} {
		if !strings.Contains(strings.ToLower(got[at]), want) || want == "" && got[at] != "" {
			t.Errorf("%s: proposed %q, want %q", at, got[at], want)
		}
	}
	var out bytes.Buffer
	if _, err := repair.Apply(context.Background(), "-", p, &out, o()); err != nil {
		t.Fatal(err)
	}
	var r find.Report
	if err := json.Unmarshal(out.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	cent := r.Finds[0]
	if cent.ObjectClass.Code != "coin" || cent.ObjectClass.Certainty != "probable" || cent.Dating.Date != "1864" ||
		!cent.Dating.Basis.Is("mark") || cent.Absent["/objectClass"] != "" {
		t.Errorf("%+v, %+v, %v", cent.ObjectClass, cent.Dating, cent.Absent)
	}
	if bell := r.Finds[5]; !bell.Position.Method.Is("photo") || bell.Position.Latitude.Float() != 53 {
		t.Errorf("%+v", bell.Position)
	}
	if _, err := repair.Apply(context.Background(), "-", p, &out, pipeline.Options{Stdin: strings.NewReader(
		strings.Replace(unfilled, "cent,,", "cent,token,", 1)), From: pipeline.CSV, To: pipeline.Findslip}); err == nil {
		t.Error("a class that was written since was replaced")
	}
}
