// Package find holds the record: a [Find], the [Report] it stands in, the table of their fields,
// the native JSON and JSON Lines, and the stream in which finds travel one at a time.
//
//	in, err := find.DecodeJSON(file, find.Options{File: "season.findslip.json"})
//	for entry, err := range in.Entries {
//		// entry.Find is the record, in.Report its header
//	}
//
// # Terms
//
// A member is given or not; a member that is not given may stand in Absent with a reason. What a
// person wrote is verbatim, the one form that SPEC.md defines for it is canonical, and both stand
// side by side. A field is one leaf of a record: it has a pointer (RFC 6901), a flat name for
// tables, and a kind.
//
// This package is unstable: it may change between any two versions.
package find

import "github.com/go-json-experiment/json/jsontext"

// A Find is one record: one object, one lot of objects, or a part of one. Members stand in the
// order of SPEC.md section 3.3, which is the order of canonical JSON. A pointer that is nil, an
// empty text and an empty list mean that the member is not given; whether that is meant is said
// in Absent.
type Find struct {
	// Identity.
	ID           string        `json:"id,omitzero"`           // UUID URN
	Number       string        `json:"number,omitzero"`       // text as on the bag
	Kind         string        `json:"kind,omitzero"`         // single, lot, part
	Lifted       string        `json:"lifted,omitzero"`       // all, part, none
	OtherNumbers []OtherNumber `json:"otherNumbers,omitzero"` // numbers others gave it
	PartOf       string        `json:"partOf,omitzero"`       // URN of the find it belongs to
	Associated   []Association `json:"associated,omitzero"`
	Replaces     []string      `json:"replaces,omitzero"` // URNs of records this one stands for
	Retracted    *Retraction   `json:"retracted,omitzero"`
	Changed      string        `json:"changed,omitzero"` // RFC 3339

	// Who found it and by whose leave: local ids.
	Finder     string `json:"finder,omitzero"`
	Permission string `json:"permission,omitzero"`
	Outing     string `json:"outing,omitzero"`

	// When and where.
	Found          *Found     `json:"found,omitzero"`
	Place          *Place     `json:"place,omitzero"`
	Position       *Position  `json:"position,omitzero"`
	OtherPositions []Position `json:"otherPositions,omitzero"`

	// How deep, and what the detector said.
	Depth       *Depth  `json:"depth,omitzero"`
	OtherDepths []Depth `json:"otherDepths,omitzero"`
	Layer       *Term   `json:"layer,omitzero"`
	Signal      *Signal `json:"signal,omitzero"`

	// What it is.
	Name        string `json:"name,omitzero"` // the finder's words
	ObjectClass *Term  `json:"objectClass,omitzero"`
	Type        string `json:"type,omitzero"`
	Description string `json:"description,omitzero"`
	Use         *Term  `json:"use,omitzero"` // trial

	// How many.
	Count *Quantity `json:"count,omitzero"`
	Lot   *Lot      `json:"lot,omitzero"`

	// Made of.
	Materials []Material `json:"materials,omitzero"` // main first
	Coating   []Term     `json:"coating,omitzero"`
	Technique []Term     `json:"technique,omitzero"`
	Magnetic  *Term      `json:"magnetic,omitzero"`

	// Size.
	Dimensions  *Dimensions `json:"dimensions,omitzero"`
	Weight      *Quantity   `json:"weight,omitzero"` // g
	WeightState *Term       `json:"weightState,omitzero"`

	// State and marks.
	Condition *Condition `json:"condition,omitzero"`
	Traces    []Trace    `json:"traces,omitzero"`
	Marks     []Mark     `json:"marks,omitzero"`

	// How old, how sure.
	Dating         *Dating         `json:"dating,omitzero"`
	OtherDatings   []Dating        `json:"otherDatings,omitzero"`
	Identification *Identification `json:"identification,omitzero"`
	Opinions       []Opinion       `json:"opinions,omitzero"`
	Question       string          `json:"question,omitzero"` // trial

	// Pictures.
	Media []Media `json:"media,omitzero"`

	// Care, safety, law.
	Cleaning     *Term      `json:"cleaning,omitzero"`
	Storage      string     `json:"storage,omitzero"` // trial
	Hazards      []Term     `json:"hazards,omitzero"`
	HumanRemains *bool      `json:"humanRemains,omitzero"`
	Notified     []Notified `json:"notified,omitzero"`

	// Whereabouts.
	Disposition  *Term     `json:"disposition,omitzero"`
	Owners       []Owner   `json:"owners,omitzero"`
	Keeper       string    `json:"keeper,omitzero"`       // local id
	StoragePlace string    `json:"storagePlace,omitzero"` // private
	Value        string    `json:"value,omitzero"`        // private
	Custody      []Custody `json:"custody,omitzero"`      // trial

	// Sharing.
	Sensitivity        string `json:"sensitivity,omitzero"`
	SensitivityReasons []Term `json:"sensitivityReasons,omitzero"`
	EmbargoUntil       string `json:"embargoUntil,omitzero"`

	// The record itself.
	Recorded    *Recorded         `json:"recorded,omitzero"`
	Source      *Source           `json:"source,omitzero"`
	Notes       string            `json:"notes,omitzero"`
	Columns     map[string]string `json:"columns,omitzero"`     // sheet columns we do not know
	Supplied    map[string]string `json:"supplied,omitzero"`    // pointer to what supplied it: stated-for-file
	Absent      map[string]string `json:"absent,omitzero"`      // pointer to reason
	Generalised map[string]string `json:"generalised,omitzero"` // pointer to what was done
	Extensions  jsontext.Value    `json:"extensions,omitzero"`

	// Unknown holds members this version does not know. They are kept and reported.
	Unknown jsontext.Value `json:",embed"`
}

// OtherNumber is a number given by somebody else, such as a museum or a lab.
type OtherNumber struct {
	Number  string         `json:"number,omitzero"`
	Issuer  string         `json:"issuer,omitzero"`
	Unknown jsontext.Value `json:",embed"`
}

// Association is a link to another find.
type Association struct {
	Find     string         `json:"find,omitzero"`     // URN
	Relation *Term          `json:"relation,omitzero"` // same-hole, touching, near, joins, same-object, duplicate-of
	Unknown  jsontext.Value `json:",embed"`
}

// Retraction says that the record no longer stands.
type Retraction struct {
	On      string         `json:"on,omitzero"` // ISO 8601 day
	Reason  string         `json:"reason,omitzero"`
	Unknown jsontext.Value `json:",embed"`
}

// StatedForFile is what stands in Supplied of a member that the keeper of the log stated once for all of it.
const StatedForFile = "stated-for-file"

// MarkSupplied notes that a member was supplied by what is stated for the whole log.
func MarkSupplied(f *Find, pointer string) {
	if f.Supplied == nil {
		f.Supplied = map[string]string{}
	}
	f.Supplied[pointer] = StatedForFile
}

// Found is when the find was made.
type Found struct {
	Date     string         `json:"date,omitzero"` // day, month, year or season, with ~ ? %, or one closed interval
	Time     string         `json:"time,omitzero"` // local, offset optional
	Verbatim string         `json:"verbatim,omitzero"`
	Unknown  jsontext.Value `json:",embed"`
}

// Place is where, in words.
type Place struct {
	Name     string         `json:"name,omitzero"`
	Parish   string         `json:"parish,omitzero"`
	Region   string         `json:"region,omitzero"`
	Country  string         `json:"country,omitzero"` // ISO 3166-1 alpha-2, or ISO 3166-2
	Verbatim string         `json:"verbatim,omitzero"`
	Unknown  jsontext.Value `json:",embed"`
}

// Position is a place on the Earth in WGS 84. Uncertainty is the radius in metres that holds the
// spot 95 times in 100.
type Position struct {
	Longitude        Number         `json:"longitude,omitzero"`
	Latitude         Number         `json:"latitude,omitzero"`
	Uncertainty      Number         `json:"uncertainty,omitzero"`
	UncertaintyBasis *Term          `json:"uncertaintyBasis,omitzero"`
	Method           *Term          `json:"method,omitzero"`
	ReferenceSystem  string         `json:"referenceSystem,omitzero"` // of the verbatim text, such as EPSG:27700
	Verbatim         string         `json:"verbatim,omitzero"`
	TakenAt          string         `json:"takenAt,omitzero"` // RFC 3339 or local date and time
	By               string         `json:"by,omitzero"`      // local id
	Area             *Area          `json:"area,omitzero"`    // footprint of a lot or scatter
	Unknown          jsontext.Value `json:",embed"`
}

// Area is a GeoJSON Polygon or MultiPolygon (RFC 7946 section 3.1).
type Area struct {
	Type        string         `json:"type,omitzero"`
	Coordinates jsontext.Value `json:"coordinates,omitzero"`
	Unknown     jsontext.Value `json:",embed"`
}

// Depth is how deep the object lay, in cm.
type Depth struct {
	Quantity
	Basis      *Term  `json:"basis,omitzero"`
	Surface    *Term  `json:"surface,omitzero"`    // from which surface it was measured
	MeasuredTo string `json:"measuredTo,omitzero"` // top, middle, bottom of the object
	By         string `json:"by,omitzero"`         // local id
	On         string `json:"on,omitzero"`         // ISO 8601 day
	Why        string `json:"why,omitzero"`        // in otherDepths: why it is kept
}

// Signal is what the detector showed.
type Signal struct {
	Reading string         `json:"reading,omitzero"`
	Scale   string         `json:"scale,omitzero"`
	Note    string         `json:"note,omitzero"`
	Unknown jsontext.Value `json:",embed"`
}

// Lot says how several objects came to stand in one record.
type Lot struct {
	Rule      *Term          `json:"rule,omitzero"`
	Kept      Number         `json:"kept,omitzero"`      // trial
	Discarded Number         `json:"discarded,omitzero"` // trial
	Breakdown []Breakdown    `json:"breakdown,omitzero"`
	Unknown   jsontext.Value `json:",embed"`
}

// Breakdown is one group within a lot.
type Breakdown struct {
	Name     string         `json:"name,omitzero"`
	Count    *Quantity      `json:"count,omitzero"`
	Material *Term          `json:"material,omitzero"`
	Weight   *Quantity      `json:"weight,omitzero"` // g
	Unknown  jsontext.Value `json:",embed"`
}

// Material is a term and the part that is made of it.
type Material struct {
	Term
	Part string `json:"part,omitzero"`
}

// Dimensions are sizes in mm.
type Dimensions struct {
	Length    *Quantity      `json:"length,omitzero"`
	Width     *Quantity      `json:"width,omitzero"`
	Height    *Quantity      `json:"height,omitzero"`
	Thickness *Quantity      `json:"thickness,omitzero"`
	Diameter  *Quantity      `json:"diameter,omitzero"`
	Surviving *bool          `json:"surviving,omitzero"` // trial: sizes of what is left, not of the whole
	Unknown   jsontext.Value `json:",embed"`
}

// Condition is how much is left and in what state.
type Condition struct {
	Completeness *Term          `json:"completeness,omitzero"`
	Missing      []Term         `json:"missing,omitzero"`
	State        *Term          `json:"state,omitzero"`
	Corrosion    []Term         `json:"corrosion,omitzero"`
	Wear         *Term          `json:"wear,omitzero"`
	Unknown      jsontext.Value `json:",embed"`
}

// Trace is a trace of use, damage or working, and when it came about.
type Trace struct {
	Term
	When *Term `json:"when,omitzero"`
}

// Mark is a mark as read: [...] is lost, (?) is unsure, / ends a line.
type Mark struct {
	Kind       *Term          `json:"kind,omitzero"`
	Text       string         `json:"text,omitzero"`
	Side       *Term          `json:"side,omitzero"`
	Meaning    string         `json:"meaning,omitzero"`
	Year       Number         `json:"year,omitzero"`
	Identified *bool          `json:"identified,omitzero"`
	Unknown    jsontext.Value `json:",embed"`
}

// Dating is how old the object is. Earliest and Latest are astronomical years computed from Date
// (0 is 1 BC).
type Dating struct {
	Date      string         `json:"date,omitzero"` // EDTF
	Earliest  Number         `json:"earliest,omitzero"`
	Latest    Number         `json:"latest,omitzero"`
	Event     *Term          `json:"event,omitzero"` // made, used, lost
	Period    *Period        `json:"period,omitzero"`
	Certainty string         `json:"certainty,omitzero"`
	Basis     *Term          `json:"basis,omitzero"`
	Verbatim  string         `json:"verbatim,omitzero"`
	Unknown   jsontext.Value `json:",embed"`
}

// Period is a named span of time within a named scheme.
type Period struct {
	Label   string         `json:"label,omitzero"`
	Scheme  string         `json:"scheme,omitzero"` // URI
	ID      string         `json:"id,omitzero"`
	Unknown jsontext.Value `json:",embed"`
}

// Identification is how sure the naming is and on what grounds.
type Identification struct {
	Certainty string         `json:"certainty,omitzero"`
	Basis     *Term          `json:"basis,omitzero"`
	By        string         `json:"by,omitzero"` // local id
	On        string         `json:"on,omitzero"`
	Seen      *Term          `json:"seen,omitzero"`    // in hand, photo, description
	Follows   string         `json:"follows,omitzero"` // id of the opinion it follows
	Unknown   jsontext.Value `json:",embed"`
}

// Opinion is what somebody said of the find; it is never edited, only withdrawn by a later one.
type Opinion struct {
	ID        string         `json:"id,omitzero"`
	By        string         `json:"by,omitzero"` // local id
	On        string         `json:"on,omitzero"`
	Seen      *Term          `json:"seen,omitzero"`
	Basis     *Term          `json:"basis,omitzero"`
	Certainty string         `json:"certainty,omitzero"`
	Says      jsontext.Value `json:"says,omitzero"`      // members of a find
	Withdraws string         `json:"withdraws,omitzero"` // id of an opinion
	Unknown   jsontext.Value `json:",embed"`
}

// Media is one picture.
type Media struct {
	File    string         `json:"file,omitzero"`   // relative, no ..
	SHA256  string         `json:"sha256,omitzero"` // lower-case hexadecimal
	View    *Term          `json:"view,omitzero"`
	Scale   *bool          `json:"scale,omitzero"` // a scale is in the frame
	TakenAt string         `json:"takenAt,omitzero"`
	By      string         `json:"by,omitzero"`    // local id
	Reuse   string         `json:"reuse,omitzero"` // SPDX id
	Caption string         `json:"caption,omitzero"`
	Unknown jsontext.Value `json:",embed"`
}

// Notified is one notice given to an authority or a landowner.
type Notified struct {
	To         string         `json:"to,omitzero"`
	On         string         `json:"on,omitzero"`
	CaseNumber string         `json:"caseNumber,omitzero"`
	Deadline   string         `json:"deadline,omitzero"`
	Status     *Term          `json:"status,omitzero"`
	Unknown    jsontext.Value `json:",embed"`
}

// Owner is who owns the object, or a share of it.
type Owner struct {
	Code    string         `json:"code,omitzero"`   // from the owner list
	Person  string         `json:"person,omitzero"` // local id
	Share   Number         `json:"share,omitzero"`  // per cent
	Unknown jsontext.Value `json:",embed"`
}

// Custody is one change of hands.
type Custody struct {
	From    string         `json:"from,omitzero"` // local id
	To      string         `json:"to,omitzero"`   // local id
	On      string         `json:"on,omitzero"`
	Purpose string         `json:"purpose,omitzero"`
	Receipt string         `json:"receipt,omitzero"`
	Unknown jsontext.Value `json:",embed"`
}

// Recorded is who wrote the record and when.
type Recorded struct {
	By      string         `json:"by,omitzero"` // local id
	At      string         `json:"at,omitzero"` // RFC 3339, or a day
	Unknown jsontext.Value `json:",embed"`
}

// Source is where the record was converted from.
type Source struct {
	File    string         `json:"file,omitzero"`
	Sheet   string         `json:"sheet,omitzero"`
	Row     Number         `json:"row,omitzero"`
	Unknown jsontext.Value `json:",embed"`
}

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
