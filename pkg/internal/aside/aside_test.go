package aside

import "testing"

// What is wrong with a file is said in its own terms, with the line, and in the same words each time.
func TestRead(t *testing.T) {
	type item struct {
		Name string `json:"name"`
		N    int    `json:"n"`
		Yes  bool   `json:"yes"`
	}
	type file struct {
		Version string `json:"version"`
		Items   []item `json:"items"`
		More    *item  `json:"more"`
	}
	for text, want := range map[string]string{
		`{"version": "1", "items": [{"name": "a", "n": 2, "yes": true}]}`: "",
		"":                                      "the file is empty",
		" \n":                                   "the file is empty",
		"{\n\"items\": [{\n\"name\"":            "line 3: the file ends in the middle",
		"{\n\"findslip\": \"1.0\"}":             `line 2: the member "findslip" is not known here`,
		"{\n\"items\": [{\"nam\\u0065s\": 1}]}": `line 2: the member "names" is not known here`,
		"{\n\"version\": \"1\",\n\"version\": 2}": `line 3: the member "version" stands twice`,
		"{\n\"version\" \"1\"}": "line 2: this is not JSON; look for a bracket, a comma or a quotation " +
			"mark that is missing or too many",
		"# map": "line 1: this is not JSON; look for a bracket, a comma or a quotation mark that is " +
			"missing or too many",
		"{\n\"items\": \"x\"}":       `line 2: at "/items" stands a text, and a list between [ and ] is wanted`,
		"{\n\"items\": [4]}":         `line 2: at "/items/0" stands a number, and an object between { and } is wanted`,
		`{"items": [{"n": 1.5}]}`:    `line 1: at "/items/0/n" stands a number, and a whole number is wanted`,
		`{"items": [{"n": "1"}]}`:    `line 1: at "/items/0/n" stands a text, and a whole number is wanted`,
		`{"items": [{"yes": "no"}]}`: `line 1: at "/items/0/yes" stands a text, and true or false is wanted`,
		`{"version": 1}`:             `line 1: at "/version" stands a number, and a text in quotation marks is wanted`,
		`{"version": {}}`:            `line 1: at "/version" stands an object, and a text in quotation marks is wanted`,
		`{"more": [true]}`:           `line 1: at "/more" stands a list, and an object between { and } is wanted`,
		`{"version": true}`:          `line 1: at "/version" stands true or false, and a text in quotation marks is wanted`,
		`[]`:                         `the file is a list, and an object between { and } is wanted`,
	} {
		got := ""
		if err := Read([]byte(text), new(file)); err != nil {
			got = err.Error()
		}
		if got != want {
			t.Errorf("%q:\ngot  %s\nwant %s", text, got, want)
		}
	}
	some := new(file)
	if err := ReadSome([]byte(`{"findslip": "1.0", "version": "2"}`), some); err != nil || some.Version != "2" {
		t.Errorf("%v, %v", some, err)
	}
	if err := ReadSome([]byte(`{"findslip": "1.0", "version": 2}`), some); err == nil ||
		err.Error() != `line 1: at "/version" stands a number, and a text in quotation marks is wanted` {
		t.Error(err)
	}
}
