package coordinate

import "math"

// krovak is Krovak's oblique conformal conic, north orientated (IOGP Guidance Note 7-2, EPSG method 1041; 9819 is the
// same with both signs turned): from the ellipsoid to Gauss's sphere, to an oblique aspect of it, to a cone.
type krovak struct {
	sphere
	sinA, cosA     float64 // of the co-latitude of the cone's axis
	cone, scale    float64 // scale is the radius on the map where the oblique latitude is nought
	falseE, falseN float64
}

func newKrovak(l Ellipsoid, p Projection) *krovak {
	k := &krovak{sphere: newSphere(l, p), falseE: p.FalseEasting, falseN: p.FalseNorthing}
	k.sinA, k.cosA = math.Sincos(p.ConeAxis * radians)
	parallel := p.StandardParallel1 * radians
	k.cone = math.Sin(parallel)
	k.scale = p.Scale * k.radius / math.Tan(parallel) * math.Exp(k.cone*math.Atanh(k.cone))
	return k
}

func (k *krovak) forward(phi, lambda float64) (e, n float64) {
	su, cu, sv, cv := k.onto(phi, lambda)
	t := k.cosA*su + k.sinA*cu*cv // sine of the oblique latitude
	d := math.Atan2(cu*sv, k.cosA*cu*cv-k.sinA*su)
	r := k.scale * math.Exp(-k.cone*math.Atanh(t))
	s, c := math.Sincos(k.cone * d)
	return r*s + k.falseE, k.falseN - r*c
}

func (k *krovak) inverse(e, n float64) (phi, lambda float64) {
	x, y := k.falseN-n, e-k.falseE
	d := math.Atan2(y, x) / k.cone
	q := -math.Log(math.Hypot(x, y)/k.scale) / k.cone
	st, ct := math.Tanh(q), 1/math.Cosh(q)
	sd, cd := math.Sincos(d)
	return k.off(k.cosA*st-k.sinA*ct*cd, math.Atan2(ct*sd, k.sinA*st+k.cosA*ct*cd))
}

func (k *krovak) reach(phi, lambda float64) bool {
	_, cu, _, cv := k.onto(phi, lambda)
	return cu > 0.1 && cv > 0.5
}
