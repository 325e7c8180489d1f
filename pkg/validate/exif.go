package validate

import (
	"bytes"
	"encoding/binary"
	"io"
	"io/fs"
	"path"
)

// The tags that are looked for (CIPA DC-008, Exif 2.32, sections 4.6.3 and 4.6.5).
const (
	tagExifIFD          = 0x8769
	tagDateTimeOriginal = 0x9003
	typeASCII           = 2
	typeLong            = 4
)

// mostEntries bounds the entries of a directory that are looked at; cameras write a few dozen.
const mostEntries = 512

// takenAt returns the day and time at which a JPEG picture says it was taken, as a moment of the
// schema without offset. False for any other file and where the picture does not say it.
func takenAt(files fs.FS, name string) (string, bool) {
	if files == nil || !fs.ValidPath(path.Clean(name)) {
		return "", false
	}
	r, err := files.Open(path.Clean(name))
	if err != nil {
		return "", false
	}
	defer r.Close()
	head, err := io.ReadAll(io.LimitReader(r, 256<<10)) // the segment holds 64 KiB and stands near the front
	if err != nil {
		return "", false
	}
	return exifTime(exifSegment(head))
}

// exifSegment returns the TIFF structure within a JPEG file, nil if there is none. It reads marker
// segments up to the start of the scan (ITU-T T.81, annex B).
func exifSegment(jpeg []byte) []byte {
	if len(jpeg) < 4 || jpeg[0] != 0xff || jpeg[1] != 0xd8 {
		return nil
	}
	for at := 2; at+4 <= len(jpeg) && jpeg[at] == 0xff; {
		marker := jpeg[at+1]
		if marker == 0xff { // fill byte
			at++
			continue
		}
		if marker == 0xda || marker == 0xd9 {
			return nil
		}
		size := int(binary.BigEndian.Uint16(jpeg[at+2:]))
		if size < 2 || at+2+size > len(jpeg) {
			return nil
		}
		if body, ok := bytes.CutPrefix(jpeg[at+4:at+2+size], []byte("Exif\x00\x00")); ok && marker == 0xe1 {
			return body
		}
		at += 2 + size
	}
	return nil
}

// exifTime looks for the time of taking in a TIFF structure (TIFF 6.0, section 2).
func exifTime(tiff []byte) (string, bool) {
	if len(tiff) < 8 {
		return "", false
	}
	var order binary.ByteOrder = binary.LittleEndian
	switch string(tiff[:4]) {
	case "II*\x00":
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return "", false
	}
	kind, count, value, ok := entry(tiff, order, order.Uint32(tiff[4:]), tagExifIFD)
	if !ok || kind != typeLong || count != 1 {
		return "", false
	}
	kind, count, value, ok = entry(tiff, order, order.Uint32(value), tagDateTimeOriginal)
	if !ok || kind != typeASCII || count < 19 {
		return "", false
	}
	from := uint64(order.Uint32(value))
	if from+19 > uint64(len(tiff)) {
		return "", false
	}
	text := tiff[from : from+19] // YYYY:MM:DD HH:MM:SS
	if text[4] != ':' || text[7] != ':' || text[10] != ' ' {
		return "", false
	}
	out := string(text[:4]) + "-" + string(text[5:7]) + "-" + string(text[8:10]) + "T" + string(text[11:])
	_, ok = momentOf(out)
	return out, ok
}

// entry returns type, count and the four bytes of value of the first entry of a directory with a tag.
func entry(tiff []byte, order binary.ByteOrder, offset uint32, tag uint16) (kind uint16, count uint32, value []byte, ok bool) {
	at := uint64(offset)
	if at+2 > uint64(len(tiff)) {
		return
	}
	n := min(int(order.Uint16(tiff[at:])), mostEntries)
	at += 2
	for range n {
		if at+12 > uint64(len(tiff)) {
			return
		}
		e := tiff[at : at+12]
		if order.Uint16(e) == tag {
			return order.Uint16(e[2:]), order.Uint32(e[4:]), e[8:12], true
		}
		at += 12
	}
	return
}
