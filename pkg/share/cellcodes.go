package share

import "github.com/findslip/findslip/pkg/coordinate"

// cellCodes are names of the cells that a point lies in, in codes that people paste from maps: a geohash of
// six letters (1.2 km by 0.6 km; base 32 of 5 bits a letter, longitude first) and an open location code of eight
// (275 m; base 20 of 8000/400/20/1 by 400 of a degree). Both from memory.
func cellCodes(p coordinate.Point) (out []string) {
	const base32 = "0123456789bcdefghjkmnpqrstuvwxyz"
	low, high := [2]float64{-180, -90}, [2]float64{180, 90}
	at := [2]float64{p.Longitude, p.Latitude}
	var hash []byte
	bits, n := 0, 0
	for i := 0; len(hash) < 6; i++ {
		axis := i % 2
		mid := (low[axis] + high[axis]) / 2
		bits <<= 1
		if at[axis] >= mid {
			bits |= 1
			low[axis] = mid
		} else {
			high[axis] = mid
		}
		if n++; n == 5 {
			hash = append(hash, base32[bits])
			bits, n = 0, 0
		}
	}
	const base20 = "23456789cfghjmpqrvwx"
	var code []byte
	lat, lon := min(p.Latitude+90, 179.999999), p.Longitude+180
	for side := 20.0; len(code) < 8; side /= 20 {
		code = append(code, base20[int(lat/side)%20], base20[int(lon/side)%20])
	}
	return []string{string(hash), string(code)}
}
