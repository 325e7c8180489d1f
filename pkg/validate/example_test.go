package validate_test

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/validate"
)

func Example() {
	text := `{"findslip": "1.0", "id": "urn:uuid:0b8ac7a4-3f0b-4d1c-9a6e-1de1f1d6a3b0", "finds": [
  {"id": "urn:uuid:6f1c7f04-8f4e-4a55-8a4c-6a3d3f7f2b11", "number": "12", "depth": {"min": 20, "max": 10, "unit": "cm"}}]}`
	v, err := validate.New(validate.Options{Level: validate.NoLevel, AsOf: edtf.Day{Year: 2026, Month: 4, Day: 12}})
	if err != nil {
		fmt.Println(err)
		return
	}
	in, err := find.DecodeJSON(strings.NewReader(text), find.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for e, err := range v.Stream(in).Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		for _, n := range e.Notices {
			fmt.Println(n.Kind.Severity, n.Kind.Code, n.Pointer)
		}
	}
	// Output:
	// error interval-reversed /depth
}

// A figure of the rules is changed by its name.
func ExampleSettings_Set() {
	s := validate.DefaultSettings()
	if err := s.Set("plough-depth", "25"); err != nil {
		fmt.Println(err)
		return
	}
	for _, setting := range s.List() {
		if setting.Changed() {
			fmt.Println(setting.Name, setting.Value, "instead of", setting.Default)
		}
	}
	// Output: plough-depth 25 instead of 30
}
