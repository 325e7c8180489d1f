package picture

import (
	"bytes"
	"strings"
	"time"

	"github.com/bep/imagemeta"
)

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
