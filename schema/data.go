package schema

import (
	"embed"
	"fmt"
	"io/fs"

	"github.com/go-json-experiment/json"
)

// Data holds the tables that rules compare with: what is plausible, and what the law of a place may
// ask. Each file is a JSON object with a title, the source of its figures (or the words "from
// memory"), the day on which they were checked, and its rows.
//
//go:embed data/*.json
var Data embed.FS

// Table reads one file of Data by its name without ending; members that T does not have are passed over.
func Table[T any](name string) (table T, err error) {
	return table, ReadJSON(Data, "data/"+name+".json", &table)
}

// Rows reads the rows of one file of Data.
func Rows[T any](name string) ([]T, error) {
	table, err := Table[struct {
		Rows []T `json:"rows"`
	}](name)
	return table.Rows, err
}

// ReadJSON reads one embedded file.
func ReadJSON(from fs.FS, name string, out any) error {
	text, err := fs.ReadFile(from, name)
	if err == nil {
		err = json.Unmarshal(text, out)
	}
	if err != nil {
		return fmt.Errorf("reading the table %s: %w", name, err)
	}
	return nil
}

// profiles are those that are shipped as levels.
//
//go:embed data/profiles/*.findslip-profile.json
var profiles embed.FS

// Profile returns the bytes of a shipped profile by its id, and whether there is one. The caller owns the bytes.
func Profile(id string) ([]byte, bool) {
	text, err := profiles.ReadFile("data/profiles/" + id + ".findslip-profile.json")
	return text, err == nil
}
