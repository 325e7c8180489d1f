package profile_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/profile"
)

// A form can say what is still to be filled in.
func Example() {
	level := profile.Level("bag")
	panel := profile.NewPanel([]*profile.Effective{level}, profile.Options{})
	f := &find.Find{Number: "12", Name: "button", Absent: map[string]string{"/finder": "not-noted"}}
	var j profile.Judgement
	panel.Judge(&profile.Subject{Find: f}, &j)
	for i, is := range j.Asks[0] {
		if is.Outcome == profile.Lacking {
			fmt.Println(level.Called(level.Asks[i], "en"))
		}
	}
	// Output:
	// the day it was found
	// the field or the position
}
