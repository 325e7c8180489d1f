package bag

import (
	"crypto/sha256"
	"fmt"
	"io"
	"io/fs"
)

// signs of a fingerprint: no letter that is heard or read as another sign (base 32 of D. Crockford, from memory).
const signs = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// Fingerprint is a short form of the sum of all sums of a bag, to be read over the telephone: three groups of four
// signs, which are 60 bits of the SHA-256 sum of tagmanifest-sha256.txt. The same bag has the same fingerprint, as
// a folder and as a zip file.
func Fingerprint(bag fs.FS) (string, error) {
	f, err := bag.Open("tagmanifest-sha256.txt")
	if err != nil {
		return "", fmt.Errorf("the bag has no list of its lists: %w", err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	sum := h.Sum(nil)
	var out []byte
	var bits uint64
	for _, b := range sum[:8] {
		bits = bits<<8 | uint64(b)
	}
	for i := range 12 {
		if i > 0 && i%4 == 0 {
			out = append(out, '-')
		}
		out = append(out, signs[bits>>59])
		bits <<= 5
	}
	return string(out), nil
}
