package validate

import "hash/maphash"

// sums is the seed of the digests of all finds.
var sums = maphash.MakeSeed()

// digest sums up what the find says, so that two records can be told equal or different while only the
// sum of the first is kept.
func (c *Case) digest() uint64 {
	if c.sum == 0 {
		if c.bench == nil {
			c.sum = maphash.Bytes(sums, c.Find.AppendContents(nil)) | 1
		} else {
			c.bench.contents = c.Find.AppendContents(c.bench.contents[:0])
			c.sum = maphash.Bytes(sums, c.bench.contents) | 1
		}
	}
	return c.sum
}
