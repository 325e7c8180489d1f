package validate

import "hash/maphash"

// digest sums up what the find says, so that two records can be told equal or different while only the
// sum of the first is kept.
func (c *Case) digest() uint64 {
	if c.bench == nil {
		return maphash.Bytes(censusSeed, c.Find.AppendContents(nil))
	}
	if c.bench.contentsOf != c.Find {
		c.bench.makeContents(c.Find)
	}
	return maphash.Bytes(censusSeed, c.bench.contents)
}
