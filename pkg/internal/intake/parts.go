package intake

import (
	"regexp"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
)

// Parts are texts of a record that make one member together: columns of a sheet, or properties of
// a feature.
type Parts struct {
	Found, FoundVerbatim   string
	Dating, DatingVerbatim string
	Latitude, Longitude    string
	Easting, Northing      string
	Position               string // as words: position.verbatim
	Own                    bool   // a program wrote the record: what is canonical stands for itself
}

// Column keeps a text under a heading; a second one under the same heading is set beside it.
func Column(f *find.Find, heading, text string) {
	if f.Columns == nil {
		f.Columns = map[string]string{}
	}
	if first := f.Columns[heading]; first != "" {
		text = first + "; " + text
	}
	f.Columns[heading] = text
}

// Join sets the members that more than one cell makes. What people write by hand goes beside the
// canonical value: the words of one column, or, where the sheet has both, each to its own. What
// says the position once more, and is no number that can stand beside the words, is kept among the
// columns, under the heading that heading returns for the field; the fields are returned.
func (v *Parts) Join(f *find.Find, heading func(field string) string) (kept []string) {
	if v.Found != "" || v.FoundVerbatim != "" {
		if f.Found == nil {
			f.Found = new(find.Found)
		}
		if f.Found.Verbatim = v.FoundVerbatim; f.Found.Verbatim == "" && v.Own && isEDTF(v.Found) {
			f.Found.Date = v.Found
		} else if f.Found.Verbatim == "" {
			f.Found.Verbatim = v.Found
		} else {
			f.Found.Date = v.Found
		}
	}
	if v.Dating != "" || v.DatingVerbatim != "" {
		if f.Dating == nil {
			f.Dating = new(find.Dating)
		}
		if f.Dating.Verbatim = v.DatingVerbatim; f.Dating.Verbatim == "" && v.Own && isEDTF(v.Dating) {
			f.Dating.Date = v.Dating
		} else if f.Dating.Verbatim == "" {
			f.Dating.Verbatim = v.Dating
		} else if _, err := edtf.Parse(v.Dating); err != nil && v.Dating != "" && v.Dating != v.DatingVerbatim {
			// A column for the period and one for the age, both in words: they are read as one text.
			f.Dating.Verbatim += ", " + v.Dating
		} else {
			f.Dating.Date = v.Dating
		}
	}
	return v.joinPosition(f, heading)
}

func (v *Parts) joinPosition(f *find.Find, heading func(field string) string) (kept []string) {
	keep := func(field, text string) {
		if text != "" {
			Column(f, heading(field), text)
			kept = append(kept, field)
		}
	}
	grid := func() {
		keep("position.easting", v.Easting)
		keep("position.northing", v.Northing)
	}
	text := v.Position
	switch {
	case text != "":
		lat, lon := v.canonicalPosition(f)
		if !lat {
			keep("position.latitude", v.Latitude)
		}
		if !lon {
			keep("position.longitude", v.Longitude)
		}
		grid()
	case (v.Latitude == "") != (v.Longitude == ""):
		// One axis alone is no place: a number goes where it belongs, and that the other is missing is seen.
		if lat, lon := v.canonicalPosition(f); !lat && !lon {
			text = v.Latitude + v.Longitude
		}
		grid()
	case v.Latitude != "":
		lat := false
		if v.Own {
			lat, _ = v.canonicalPosition(f)
		}
		if !lat {
			text = pair(v.Latitude, v.Longitude)
		}
		grid()
	case v.Easting != "" || v.Northing != "":
		text = pair(v.Easting, v.Northing)
	}
	if text == "" {
		return kept
	}
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Verbatim = text
	return kept
}

func isEDTF(text string) bool {
	_, err := edtf.Parse(text)
	return err == nil
}

// pair joins two cells of one position; one of them alone stays as it is, for a person to see.
func pair(a, b string) string {
	return strings.Trim(a+", "+b, ", ")
}

// canonicalPosition takes numbers that stand beside the words of a position, and tells which it took.
// One alone is taken too: what was written is not lost, and that the other is missing is seen.
func (v *Parts) canonicalPosition(f *find.Find) (lat, lon bool) {
	take := func(text string) (find.Number, bool) {
		n, err := find.ParseNumber(text)
		return n, err == nil && n.Known()
	}
	latitude, lat := take(v.Latitude)
	longitude, lon := take(v.Longitude)
	if lat != lon && v.Latitude != "" && v.Longitude != "" {
		return false, false // one of a pair is no number: neither says anything without the other
	}
	if !lat && !lon {
		return false, false
	}
	if f.Position == nil {
		f.Position = new(find.Position)
	}
	f.Position.Latitude, f.Position.Longitude = latitude, longitude
	return lat, lon
}

// Pictures adds the pictures that a text names: one, or several with signs or words between them, where each
// has the ending of a file.
func Pictures(f *find.Find, text string) {
	ends := pictureEnding.FindAllStringIndex(text, -1)
	if len(ends) < 2 {
		f.Media = append(f.Media, find.Media{File: strings.TrimSpace(text)})
		return
	}
	at := 0
	for i, end := range ends {
		stop := end[1]
		if i == len(ends)-1 && strings.Trim(text[stop:], " .,;") != "" {
			stop = len(text)
		}
		name := text[at:stop]
		at = stop
		if i > 0 {
			name = between.ReplaceAllString(name, "")
		}
		if name = strings.Trim(name, " \t\r\n,;|&+/"); name != "" {
			f.Media = append(f.Media, find.Media{File: name})
		}
	}
}

var (
	pictureEnding = regexp.MustCompile(`(?i)\.(?:jpe?g|png|heic|heif|tiff?|gif|webp|bmp|dng|mov|mp4|pdf)(?:$|[\s,;|&+/)])`)
	// A short word between two names of files: and, und, et, og, och.
	between = regexp.MustCompile(`^[\s,;|&+/)]*(?:\pL{1,3}\s+)?`)
)
