package picture

import (
	"bytes"
	"fmt"
	"math"
	"path"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/bep/imagemeta"
)

// Told is what a picture says of how it was taken, as far as a find may lack it. All of it is proposed, never taken
// over unasked: a picture may have been taken at home.
type Told struct {
	At        string   // 2026-04-12T10:42:00, by the clock of the camera; empty if it does not say
	Position  bool     // Latitude and Longitude are said
	Latitude  float64  // degrees, south below 0
	Longitude float64  // degrees, west below 0
	Accuracy  *float64 // of the position, in metres
	Direction *float64 // to which the camera looked, in degrees from north
	Magnetic  bool     // that north is the one of the compass
}

// Read returns what a picture of a format that is Known tells, and whether it could be read. Of HEIC, no clean copy
// can be made (see Clean), but what it tells is read.
func Read(data []byte) (Told, bool) {
	gps := map[string]any{}
	ok := eachTag(data, func(tag imagemeta.TagInfo) {
		if tag.Source == imagemeta.EXIF && strings.HasPrefix(tag.Tag, "GPS") {
			gps[tag.Tag] = tag.Value
		}
	})
	var t Told
	t.At, _ = TakenAt(data)
	latitude, south := degrees(gps, "GPSLatitude", "S", 90)
	longitude, west := degrees(gps, "GPSLongitude", "W", 180)
	// A camera without a position may write zeros.
	if south && west && (latitude != 0 || longitude != 0) && status(gps) {
		t.Position, t.Latitude, t.Longitude = true, latitude, longitude
	}
	if n, ok := figure(gps["GPSHPositioningError"]); ok && n > 0 && n < 1e6 {
		t.Accuracy = &n
	}
	if n, ok := figure(gps["GPSImgDirection"]); ok && n >= 0 && n < 360 {
		ref, _ := gps["GPSImgDirectionRef"].(string)
		t.Direction, t.Magnetic = &n, strings.HasPrefix(ref, "M")
	}
	return t, ok
}

// degrees returns a coordinate with its sign, and whether it and its hemisphere are said.
func degrees(gps map[string]any, name, negative string, most float64) (float64, bool) {
	n, ok := figure(gps[name])
	ref, said := gps[name+"Ref"].(string)
	if !ok || !said || math.Abs(n) > most {
		return 0, false
	}
	if strings.HasPrefix(strings.ToUpper(ref), negative) {
		n = -math.Abs(n)
	}
	return n, true
}

// status reports whether the receiver had a position: GPSStatus is V while it looks for one (CIPA DC-008 section
// 4.6.6).
func status(gps map[string]any) bool {
	s, _ := gps["GPSStatus"].(string)
	return !strings.HasPrefix(s, "V")
}

// figure returns a value of a tag as a number.
func figure(v any) (float64, bool) {
	if n, ok := v.(float64); ok {
		return n, !math.IsNaN(n) && !math.IsInf(n, 0)
	}
	above, below, _ := strings.Cut(fmt.Sprint(v), "/")
	a, err := strconv.ParseFloat(above, 64)
	if err != nil {
		return 0, false
	}
	b := 1.0
	if below != "" {
		if b, err = strconv.ParseFloat(below, 64); err != nil || b == 0 {
			return 0, false
		}
	}
	return a / b, !math.IsNaN(a/b) && !math.IsInf(a/b, 0)
}

// extensions are those of pictures, in lower case.
var extensions = []string{".jpg", ".jpeg", ".png", ".heic", ".heif", ".webp", ".avif", ".tif", ".tiff", ".gif", ".bmp"}

// IsName reports whether a name is one of a picture.
func IsName(name string) bool {
	end := strings.ToLower(path.Ext(name))
	for _, e := range extensions {
		if e == end {
			return true
		}
	}
	return false
}

// cameraWords stand before numbers that count pictures, not finds.
var cameraWords = []string{"img", "dsc", "dscn", "dscf", "pxl", "vid", "photo", "image", "screenshot", "mvimg", "gopr",
	"p"}

// Match says which pictures belong to which number of a find: those whose name is the number, or begins with it and
// goes on with a sign or a letter, with zeros in front or without: 014.jpg, 14_b.jpg and LF-14 front.jpg. Names that
// a camera counts, such as IMG_0014.jpg, match no number; a picture that would match two matches none.
func Match(names, numbers []string) map[string][]string {
	keys := map[string]string{}
	for _, n := range numbers {
		key := numberKey(n)
		if other, twice := keys[key]; twice && other != n {
			n = ""
		}
		if key != "" {
			keys[key] = n
		}
	}
	out := map[string][]string{}
	for _, name := range names {
		base := path.Base(strings.ReplaceAll(name, `\`, "/"))
		base = strings.TrimSuffix(base, path.Ext(base))
		found := map[string]bool{}
		for _, key := range nameKeys(base) {
			if n := keys[key]; n != "" {
				found[n] = true
			}
		}
		if len(found) == 1 {
			for n := range found {
				out[n] = append(out[n], name)
			}
		}
	}
	return out
}

// numberKey folds a number: small letters, no signs, no zeros in front of figures.
func numberKey(number string) string {
	var b strings.Builder
	digits := ""
	flush := func() {
		if digits != "" {
			if digits = strings.TrimLeft(digits, "0"); digits == "" {
				digits = "0"
			}
			b.WriteString(digits + " ")
		}
		digits = ""
	}
	for _, r := range strings.ToLower(number) {
		switch {
		case unicode.IsDigit(r):
			digits += string(r)
		case unicode.IsLetter(r):
			flush()
			b.WriteRune(r)
		default:
			flush()
		}
	}
	flush()
	if strings.IndexFunc(b.String(), unicode.IsDigit) < 0 {
		return ""
	}
	return b.String()
}

// nameKeys returns the keys of numbers that a name of a file may begin with, the whole name among them.
func nameKeys(base string) (keys []string) {
	letters := strings.ToLower(base[:len(base)-len(strings.TrimLeftFunc(base, unicode.IsLetter))])
	for _, word := range cameraWords {
		if letters == word && len(base)-len(letters) >= len("_0014")-1 {
			return nil
		}
	}
	whole := numberKey(base)
	if whole != "" {
		keys = append(keys, whole)
	}
	runes := []rune(base)
	for i := 1; i < len(runes); i++ {
		// A number ends where its figures end.
		if unicode.IsDigit(runes[i-1]) && !unicode.IsDigit(runes[i]) {
			if key := numberKey(string(runes[:i])); key != "" && key != whole {
				return append(keys, key)
			}
		}
	}
	return keys
}

// What is written in a picture beside what is seen is read with a library, which knows the forms of
// telephones (HEIF, AVIF, WebP) beside JPEG, PNG and TIFF. It is given bounds, and whatever it makes
// of damaged bytes, a picture that cannot be read only says nothing.
const (
	mostTags = 5000
	mostTag  = 64 << 10 // bytes of one value
	longest  = 10 * time.Second
)

// formatOf tells the format of a picture from its first bytes.
func formatOf(data []byte) (imagemeta.ImageFormat, bool) {
	switch {
	case Extension(data) == ".jpg":
		return imagemeta.JPEG, true
	case Extension(data) == ".png":
		return imagemeta.PNG, true
	case len(data) >= 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == "WEBP":
		return imagemeta.WebP, true
	case bytes.HasPrefix(data, []byte("II*\x00")), bytes.HasPrefix(data, []byte("MM\x00*")):
		return imagemeta.TIFF, true
	case len(data) >= 12 && string(data[4:8]) == "ftyp": // ISO/IEC 14496-12 section 4.3; the brands: ISO/IEC 23008-12
		switch string(data[8:12]) {
		case "avif", "avis":
			return imagemeta.AVIF, true
		case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1":
			return imagemeta.HEIF, true
		}
	}
	return imagemeta.ImageFormatAuto, false
}

// Known reports whether the format of a picture is one that can be looked into: JPEG, PNG, WebP, TIFF,
// HEIF or AVIF.
func Known(data []byte) bool {
	_, ok := formatOf(data)
	return ok
}

// eachTag visits the tags of Exif and XMP. It reports whether the picture could be read.
func eachTag(data []byte, visit func(imagemeta.TagInfo)) (ok bool) {
	format, ok := formatOf(data)
	if !ok {
		return false
	}
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	_, err := imagemeta.Decode(imagemeta.Options{R: bytes.NewReader(data), ImageFormat: format,
		Sources:         imagemeta.EXIF | imagemeta.XMP,
		ShouldHandleTag: func(imagemeta.TagInfo) bool { return true },
		HandleTag:       func(tag imagemeta.TagInfo) error { visit(tag); return nil },
		LimitNumTags:    mostTags, LimitTagSize: mostTag, Timeout: longest})
	return err == nil
}

// TakenAt returns the day and time at which a picture says it was taken, as 2026-04-12T10:42:00 by the
// clock of the camera. False where it does not say, or where its clock was not set.
func TakenAt(data []byte) (string, bool) {
	text := ""
	eachTag(data, func(tag imagemeta.TagInfo) {
		if s, ok := tag.Value.(string); ok && tag.Source == imagemeta.EXIF && tag.Tag == "DateTimeOriginal" {
			text = strings.TrimRight(s, "\x00 ")
		}
	})
	at, err := time.Parse("2006:01:02 15:04:05", text) // CIPA DC-008 section 4.6.5
	if err != nil {
		return "", false
	}
	return at.Format("2006-01-02T15:04:05"), true
}

// otherCarries looks into a picture that is neither JPEG nor PNG. One that cannot be read carries
// metadata for all that is known.
func otherCarries(data []byte, found map[string]bool) {
	if !Known(data) {
		return
	}
	ok := eachTag(data, func(tag imagemeta.TagInfo) {
		if tag.Source == imagemeta.XMP || strings.Contains(tag.Namespace, "IFD") && tag.Tag != "Orientation" {
			if what := carriedBy(tag); what != "" {
				found[what] = true
			}
		}
	})
	if !ok {
		found["metadata"] = true
	}
}

// carriedBy names what a tag gives away. The names are those of Exif 2.32 (CIPA DC-008 sections 4.6.4
// to 4.6.6) and of XMP (ISO 16684-1).
func carriedBy(tag imagemeta.TagInfo) string {
	switch name := tag.Tag; {
	case strings.HasPrefix(name, "GPS") && name != "GPSVersionID", strings.Contains(tag.Namespace, "GPSInfoIFD"):
		return "position"
	case strings.Contains(name, "SerialNumber"), name == "ImageUniqueID":
		return "serial-number"
	case name == "OwnerName", name == "CameraOwnerName", name == "Artist", name == "Copyright", name == "XPAuthor",
		strings.EqualFold(name, "creator"):
		return "owner"
	case name == "ImageDescription", name == "UserComment", name == "XPComment", name == "XPTitle", name == "XPSubject",
		name == "XPKeywords", strings.EqualFold(name, "description"):
		return "words"
	case name == "MakerNote":
		return "maker-note"
	case strings.HasPrefix(name, "DateTime"), strings.HasPrefix(name, "CreateDate"), name == "ModifyDate":
		return "time"
	case name == "Make", name == "Model", name == "Software":
		return "device"
	}
	return "metadata"
}
