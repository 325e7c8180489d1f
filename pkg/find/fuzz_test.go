package find

import (
	"bytes"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
)

// FuzzDecodeJSONL: what is read is written, and written again the same.
func FuzzDecodeJSONL(f *testing.F) {
	f.Add([]byte(`{"type":"report","report":{"findslip":"1.0"}}` + "\n" +
		`{"type":"find","find":{"number":"7","depth":"8"}}` + "\n" + `{"type":"end","finds":1}` + "\n"))
	f.Add([]byte(`{"find":{"name":"bell"},"type":"find"}` + "\r\n\r\nx\n" + `{"type":"end","finds":9}`))
	f.Add([]byte("\xef\xbb\xbf" + `{"type":"report","report":{"findslip":"1.0","type":"report","x":[1,{"a":null}]}}`))
	f.Add([]byte(`{"type":"find","type":"end"}` + "\n" + `{"type":"find","find":{"columns":{"a":"\ud800"}}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		o := Options{Limits: limit.Limits{Record: 4 << 10, Header: 64 << 10}}
		s, err := DecodeJSONL(bytes.NewReader(data), o)
		if err != nil {
			return
		}
		r, _, err := Collect(s)
		if err != nil {
			return
		}
		var once, twice bytes.Buffer
		if err := EncodeJSONL(&once, StreamOf(r)); err != nil {
			t.Fatal(err)
		}
		s, err = DecodeJSONL(bytes.NewReader(once.Bytes()), Options{})
		if err != nil {
			t.Fatalf("cannot read what was written: %v\n%s", err, once.Bytes())
		}
		r, list, err := Collect(s)
		if err != nil || len(list) > 0 {
			t.Fatalf("reading what was written: %v, %v\n%s", err, list, once.Bytes())
		}
		if err := EncodeJSONL(&twice, StreamOf(r)); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(once.Bytes(), twice.Bytes()) {
			t.Fatalf("written twice differs:\n%s\n%s", once.Bytes(), twice.Bytes())
		}
	})
}
