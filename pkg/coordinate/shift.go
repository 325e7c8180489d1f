package coordinate

import "math"

// Convention says how the rotations of a seven-parameter shift are to be taken; the two differ in their sign.
type Convention string

// The two conventions of the EPSG dataset.
const (
	PositionVector  Convention = "position vector"  // EPSG method 9606
	CoordinateFrame Convention = "coordinate frame" // EPSG method 9607
)

// Shift is the way from a datum to WGS 84: three translations in metres, three rotations in seconds of arc and a scale
// in parts per million. The zero Shift changes nothing.
type Shift struct {
	Code       string     // the EPSG operation, "EPSG:1314"; empty for WGS 84 itself
	Convention Convention // empty where there is no rotation
	X, Y, Z    float64    // metres
	RX, RY, RZ float64    // seconds of arc
	PPM        float64    // scale difference, parts per million
	Accuracy   float64    // metres; what an honest uncertainty has to add
	Source     string     // where Accuracy comes from
}

const (
	arcSecond   = math.Pi / (180 * 3600)
	microradian = 1e-6 / arcSecond // in seconds of arc
)

// helmert is a Shift made ready: x' = t + m x, and the exact inverse of m.
type helmert struct {
	t    [3]float64
	m, w [3][3]float64
}

// newHelmert returns nil for a shift that moves nothing.
func newHelmert(s Shift) *helmert {
	if s.X == 0 && s.Y == 0 && s.Z == 0 && s.RX == 0 && s.RY == 0 && s.RZ == 0 && s.PPM == 0 {
		return nil
	}
	sign := 1.0
	if s.Convention == CoordinateFrame {
		sign = -1
	}
	rx, ry, rz := sign*s.RX*arcSecond, sign*s.RY*arcSecond, sign*s.RZ*arcSecond
	k := 1 + s.PPM*1e-6
	h := &helmert{
		t: [3]float64{s.X, s.Y, s.Z},
		m: [3][3]float64{{k, -k * rz, k * ry}, {k * rz, k, -k * rx}, {-k * ry, k * rx, k}},
	}
	m := &h.m
	cofactor := func(r, c int) float64 {
		r1, r2, c1, c2 := (r+1)%3, (r+2)%3, (c+1)%3, (c+2)%3
		return m[r1][c1]*m[r2][c2] - m[r1][c2]*m[r2][c1]
	}
	det := m[0][0]*cofactor(0, 0) + m[0][1]*cofactor(0, 1) + m[0][2]*cofactor(0, 2)
	for r := range 3 {
		for c := range 3 {
			h.w[r][c] = cofactor(c, r) / det
		}
	}
	return h
}

func apply(m *[3][3]float64, x, y, z float64) (float64, float64, float64) {
	return m[0][0]*x + m[0][1]*y + m[0][2]*z, m[1][0]*x + m[1][1]*y + m[1][2]*z, m[2][0]*x + m[2][1]*y + m[2][2]*z
}

// toWGS84 moves latitude and longitude in radians, on the ellipsoid l at height 0, to WGS 84.
func (h *helmert) toWGS84(l Ellipsoid, phi, lambda float64) (float64, float64) {
	x, y, z := l.geocentric(phi, lambda, 0)
	x, y, z = apply(&h.m, x, y, z)
	phi, lambda, _ = wgs84.geodetic(x+h.t[0], y+h.t[1], z+h.t[2])
	return phi, lambda
}

// fromWGS84 is the exact inverse of toWGS84: it seeks the height on WGS 84 that is height 0 on the ellipsoid l, so that
// there and back is the same place to the last figures.
func (h *helmert) fromWGS84(l Ellipsoid, phi, lambda float64) (float64, float64) {
	height := 0.0
	var p, q float64
	for range 3 {
		x, y, z := wgs84.geocentric(phi, lambda, height)
		x, y, z = apply(&h.w, x-h.t[0], y-h.t[1], z-h.t[2])
		var up float64
		p, q, up = l.geodetic(x, y, z)
		height -= up
		if math.Abs(up) < 1e-3 {
			break
		}
	}
	return p, q
}
