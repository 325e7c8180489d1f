package find

import "github.com/go-json-experiment/json/jsontext"

// Version is the version of the format this package writes.
const Version = "1.0"

// A Report is a file of finds with who, where and by whose leave. In a stream the finds come one
// by one and Finds is empty: the Report is then the header.
type Report struct {
	Schema            string `json:"$schema,omitzero"`  // what an editor wrote; never in a copy
	Context           string `json:"@context,omitzero"` // the name of our context; never in a copy
	Findslip          string `json:"findslip,omitzero"` // version of the format
	ID                string `json:"id,omitzero"`       // UUID URN
	IDBasis           string `json:"idBasis,omitzero"`  // file-name when the id was made from one
	Title             string `json:"title,omitzero"`
	Language          string `json:"language,omitzero"` // BCP 47
	Changed           string `json:"changed,omitzero"`  // RFC 3339
	Generator         string `json:"generator,omitzero"`
	VocabularyVersion string `json:"vocabularyVersion,omitzero"`
	Audience          string `json:"audience,omitzero"` // self if missing
	CopyOf            string `json:"copyOf,omitzero"`   // id of the report this is a copy of
	Reuse             string `json:"reuse,omitzero"`    // SPDX id

	People      []Person     `json:"people,omitzero"`
	Permissions []Permission `json:"permissions,omitzero"`
	Outings     []Outing     `json:"outings,omitzero"`
	Finds       []*Find      `json:"finds,omitzero"`

	Notes          []string          `json:"notes,omitzero" private:"place"` // what stands in the log and is no find
	Accepted       []Acceptance      `json:"accepted,omitzero"`
	ExtensionsUsed []ExtensionUse    `json:"extensionsUsed,omitzero"`
	Absent         map[string]string `json:"absent,omitzero"`
	Generalised    map[string]string `json:"generalised,omitzero"`
	Extensions     jsontext.Value    `json:"extensions,omitzero"`

	// Unknown holds members this version does not know. They are kept and reported.
	Unknown jsontext.Value `json:",embed"`
}

// Person is somebody named in the report by a local id that never comes from a name.
type Person struct {
	ID          string            `json:"id,omitzero"` // local: person-1
	Name        string            `json:"name,omitzero"`
	Handle      string            `json:"handle,omitzero"`
	Roles       []Term            `json:"roles,omitzero"`
	Contact     string            `json:"contact,omitzero"`  // private
	Consents    []Consent         `json:"consents,omitzero"` // trial
	Columns     map[string]string `json:"columns,omitzero"`  // of a sheet, that no field understands
	Absent      map[string]string `json:"absent,omitzero"`
	Generalised map[string]string `json:"generalised,omitzero"`
	Unknown     jsontext.Value    `json:",embed"`
}

// Consent is what a person agreed to.
type Consent struct {
	Audience string         `json:"audience,omitzero"`
	On       string         `json:"on,omitzero"`
	Note     string         `json:"note,omitzero"`
	Unknown  jsontext.Value `json:",embed"`
}

// Permission is the leave of a landowner for one piece of land.
type Permission struct {
	ID             string            `json:"id,omitzero"` // local: permission-1
	Basis          *Term             `json:"basis,omitzero"`
	GrantedBy      string            `json:"grantedBy,omitzero"` // local id
	Occupier       string            `json:"occupier,omitzero"`  // local id
	ValidFrom      string            `json:"validFrom,omitzero"` // ISO 8601 day
	ValidTo        string            `json:"validTo,omitzero"`   // ISO 8601 day
	Jurisdiction   string            `json:"jurisdiction,omitzero"`
	Place          *Place            `json:"place,omitzero"`
	Area           *Area             `json:"area,omitzero"`
	Excluded       []Area            `json:"excluded,omitzero"`
	LandUse        *Term             `json:"landUse,omitzero"`
	PloughDepth    *Quantity         `json:"ploughDepth,omitzero"` // cm, trial
	MaxDepth       *Quantity         `json:"maxDepth,omitzero"`    // cm
	Terms          string            `json:"terms,omitzero"`
	DocumentNumber string            `json:"documentNumber,omitzero"`
	Columns        map[string]string `json:"columns,omitzero"` // of a sheet, that no field understands
	Absent         map[string]string `json:"absent,omitzero"`
	Generalised    map[string]string `json:"generalised,omitzero"`
	Unknown        jsontext.Value    `json:",embed"`
}

// Outing is one spell of detecting on one permission.
type Outing struct {
	ID           string            `json:"id,omitzero"` // local: outing-1
	Permission   string            `json:"permission,omitzero"`
	Date         string            `json:"date,omitzero"`  // ISO 8601 day
	Start        string            `json:"start,omitzero"` // local time
	End          string            `json:"end,omitzero"`   // local time
	People       []string          `json:"people,omitzero"`
	Method       *Term             `json:"method,omitzero"`
	DigRule      *Term             `json:"digRule,omitzero"`
	Detector     *Detector         `json:"detector,omitzero"`
	Hours        Number            `json:"hours,omitzero"`
	Rubbish      string            `json:"rubbish,omitzero"` // trial
	NothingFound *bool             `json:"nothingFound,omitzero"`
	Columns      map[string]string `json:"columns,omitzero"` // of a sheet, that no field understands
	Absent       map[string]string `json:"absent,omitzero"`
	Generalised  map[string]string `json:"generalised,omitzero"`
	Unknown      jsontext.Value    `json:",embed"`
}

// Detector is the machine and how it was set.
type Detector struct {
	Model     string         `json:"model,omitzero"`
	Coil      string         `json:"coil,omitzero"`
	Programme string         `json:"programme,omitzero"`
	Unknown   jsontext.Value `json:",embed"`
}

// Acceptance silences one notice with a reason.
type Acceptance struct {
	Code    string         `json:"code,omitzero"`
	Find    string         `json:"find,omitzero"`    // URN; missing: the report itself
	Pointer string         `json:"pointer,omitzero"` // relative to the find; missing: anywhere in it
	Reason  string         `json:"reason,omitzero"`
	By      string         `json:"by,omitzero"` // local id
	On      string         `json:"on,omitzero"` // ISO 8601 day
	Unknown jsontext.Value `json:",embed"`
}

// ExtensionUse declares a prefix that may stand in extensions.
type ExtensionUse struct {
	Prefix  string         `json:"prefix,omitzero"`
	Schema  string         `json:"schema,omitzero"` // URI
	Version string         `json:"version,omitzero"`
	Unknown jsontext.Value `json:",embed"`
}

// Person returns the person with the local id, or nil.
func (r *Report) Person(id string) *Person {
	for i := range r.People {
		if r.People[i].ID == id {
			return &r.People[i]
		}
	}
	return nil
}

// Permission returns the permission with the local id, or nil.
func (r *Report) Permission(id string) *Permission {
	for i := range r.Permissions {
		if r.Permissions[i].ID == id {
			return &r.Permissions[i]
		}
	}
	return nil
}

// Outing returns the outing with the local id, or nil.
func (r *Report) Outing(id string) *Outing {
	for i := range r.Outings {
		if r.Outings[i].ID == id {
			return &r.Outings[i]
		}
	}
	return nil
}

// ColumnsOf returns the columns of a record that no field understands, to be read or set; nil for a
// report, which has none.
func ColumnsOf[T Record](record *T) *map[string]string {
	switch r := any(record).(type) {
	case *Find:
		return &r.Columns
	case *Person:
		return &r.Columns
	case *Permission:
		return &r.Columns
	case *Outing:
		return &r.Columns
	}
	return nil
}
