package mesh

// InCircle is for tests from outside.
var InCircle = inCircle

// Acute says whether the input itself has an angle under 60° somewhere: then a few triangles may stay sharper than wanted.
func Acute(d Domain) bool {
	d.Region = d.Region.Normalise()
	g, err := draw(&d)
	if err != nil {
		return true
	}
	r := &refiner{g: g}
	r.findSharp()
	for _, s := range r.sharp {
		if s {
			return true
		}
	}
	return false
}
