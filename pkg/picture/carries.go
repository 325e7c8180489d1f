package picture

import (
	"bytes"
	"encoding/binary"
	"slices"
)

const pngHead = "\x89PNG\r\n\x1a\n"

// Tags of Exif (CIPA DC-008, Exif 2.32, sections 4.6.4 to 4.6.6), and what each gives away. Those
// of 0x9c9b and after are common practice of one system, no source.
var tags = map[uint16]string{
	0x8825: "position",      // GPS directory
	0xa431: "serial-number", // of the body
	0xa435: "serial-number", // of the lens
	0xa420: "serial-number", // unique id of the picture
	0xa430: "owner",         // of the camera
	0x013b: "owner",         // artist
	0x8298: "owner",         // copyright
	0x9c9d: "owner",         // author
	0x010e: "words",         // description
	0x9286: "words",         // comment
	0x9c9b: "words", 0x9c9c: "words", 0x9c9e: "words", 0x9c9f: "words",
	0x927c: "maker-note",
	0x9003: "time", 0x9004: "time", 0x0132: "time",
	0x010f: "device", 0x0110: "device", 0x0131: "device",
}

const (
	tagOrientation = 0x0112
	tagExif        = 0x8769
	typeShort      = 3
)

// mostEntries bounds the entries of a directory that are looked at; cameras write a few dozen.
const mostEntries = 512

// Carries names what a picture of a format that is Known carries beside what is seen: position, serial-number,
// owner, words, maker-note, time, device, metadata (of a form that is not looked into) and trailer
// (bytes after its end). Sorted; nil for a picture that carries nothing and for any other file.
func Carries(data []byte) []string {
	found := map[string]bool{}
	switch Extension(data) {
	case ".jpg":
		jpegCarries(data, found)
	case ".png":
		pngCarries(data, found)
	default:
		otherCarries(data, found)
	}
	var out []string
	for what := range found {
		out = append(out, what)
	}
	slices.Sort(out)
	return out
}

// jpegCarries walks the segments of a JPEG file (ITU-T T.81, annex B).
func jpegCarries(data []byte, found map[string]bool) {
	end := segments(data, func(marker byte, body []byte) bool {
		switch {
		case marker == 0xfe:
			found["words"] = true
		case marker == 0xe0 && (bytes.HasPrefix(body, []byte("JFIF\x00")) || bytes.HasPrefix(body, []byte("JFXX\x00"))):
			if len(body) > 14 || body[3] == 'X' {
				found["metadata"] = true // a preview
			}
		case marker == 0xe1 && bytes.HasPrefix(body, []byte("Exif\x00\x00")):
			tiffCarries(body[6:], found)
		case marker == 0xee && bytes.HasPrefix(body, []byte("Adobe")): // how the colours are stored
		case marker >= 0xe0 && marker <= 0xef:
			found["metadata"] = true
			packetCarries(body, found)
		}
		return true
	})
	if i := bytes.LastIndex(data[end:], []byte("\xff\xd9")); i >= 0 && end+i+2 < len(data) {
		found["trailer"] = true
	} else if first := bytes.Index(data[end:], []byte("\xff\xd9")); first >= 0 && first != i {
		found["trailer"] = true // a second picture behind the first
	}
}

// packetCarries looks for the common words of XMP (ISO 16684-1) in a packet that is not parsed.
func packetCarries(body []byte, found map[string]bool) {
	for text, what := range map[string]string{"GPSL": "position", "SerialNumber": "serial-number", "OwnerName": "owner",
		"creator": "owner", "description": "words"} {
		if bytes.Contains(body, []byte(text)) {
			found[what] = true
		}
	}
}

// pngCarries walks the chunks of a PNG file (ISO/IEC 15948, section 5.3).
func pngCarries(data []byte, found map[string]bool) {
	at := len(pngHead)
	for at+12 <= len(data) {
		size := uint64(binary.BigEndian.Uint32(data[at:]))
		kind := string(data[at+4 : at+8])
		if size > uint64(len(data)-at-12) {
			return
		}
		body := data[at+8 : at+8+int(size)]
		switch kind {
		case "tEXt", "zTXt", "iTXt":
			found["words"] = true
			packetCarries(body, found)
		case "eXIf":
			tiffCarries(body, found)
		case "tIME":
			found["time"] = true
		case "IHDR", "PLTE", "IDAT", "tRNS", "gAMA", "cHRM", "sRGB", "sBIT", "bKGD", "pHYs", "hIST", "IEND":
		default:
			found["metadata"] = true
		}
		at += 12 + int(size)
		if kind == "IEND" {
			if at < len(data) {
				found["trailer"] = true
			}
			return
		}
	}
}

// segments calls visit with each marker segment before the scan and returns where the scan begins.
func segments(jpeg []byte, visit func(marker byte, body []byte) bool) int {
	at := 2
	for at+4 <= len(jpeg) && jpeg[at] == 0xff {
		marker := jpeg[at+1]
		if marker == 0xff { // fill byte
			at++
			continue
		}
		if marker == 0xda || marker == 0xd9 {
			return at
		}
		size := int(binary.BigEndian.Uint16(jpeg[at+2:]))
		if size < 2 || at+2+size > len(jpeg) || !visit(marker, jpeg[at+4:at+2+size]) {
			return at
		}
		at += 2 + size
	}
	return min(at, len(jpeg))
}

// exif returns the TIFF structure within a JPEG file, nil if there is none.
func exif(jpeg []byte) (tiff []byte) {
	segments(jpeg, func(marker byte, body []byte) bool {
		if rest, ok := bytes.CutPrefix(body, []byte("Exif\x00\x00")); ok && marker == 0xe1 {
			tiff = rest
			return false
		}
		return true
	})
	return tiff
}

// tiffCarries looks at the entries of the first two directories and of that of Exif (TIFF 6.0,
// section 2). A structure with nothing known in it is metadata all the same.
func tiffCarries(tiff []byte, found map[string]bool) {
	found["metadata"] = true
	order, first, ok := tiffHead(tiff)
	if !ok {
		return
	}
	queue := []uint32{first}
	for i := 0; i < len(queue) && i < 8; i++ {
		next := entries(tiff, order, queue[i], func(tag uint16, _ uint16, value []byte) {
			if what := tags[tag]; what != "" {
				found[what] = true
			}
			if tag == tagExif {
				queue = append(queue, order.Uint32(value))
			}
		})
		if next != 0 {
			queue = append(queue, next)
		}
	}
}

// orientation returns tag 274 of the first directory, 1 where it is not given.
func orientation(tiff []byte) int {
	order, first, ok := tiffHead(tiff)
	how := 1
	if ok {
		entries(tiff, order, first, func(tag, kind uint16, value []byte) {
			if tag == tagOrientation && kind == typeShort {
				how = int(order.Uint16(value))
			}
		})
	}
	return how
}

func tiffHead(tiff []byte) (order binary.ByteOrder, first uint32, ok bool) {
	if len(tiff) < 8 {
		return nil, 0, false
	}
	switch string(tiff[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return nil, 0, false
	}
	return order, order.Uint32(tiff[4:]), true
}

// entries visits the entries of one directory and returns where the next one is, 0 for none.
func entries(tiff []byte, order binary.ByteOrder, offset uint32, visit func(tag, kind uint16, value []byte)) uint32 {
	at := uint64(offset)
	if at < 8 || at+2 > uint64(len(tiff)) {
		return 0
	}
	n := int(order.Uint16(tiff[at:]))
	at += 2
	for i := 0; i < n && i < mostEntries && at+12 <= uint64(len(tiff)); i++ {
		visit(order.Uint16(tiff[at:]), order.Uint16(tiff[at+2:]), tiff[at+8:at+12])
		at += 12
	}
	if n > mostEntries || at+4 > uint64(len(tiff)) {
		return 0
	}
	return order.Uint32(tiff[at:])
}
