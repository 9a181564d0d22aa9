package mesh

// InCircle is for tests from outside.
var InCircle = inCircle

// Acute says whether the input itself has an angle under 60° somewhere: then a few triangles may stay sharper than wanted.
func Acute(d Domain) bool {
	if d.complete() != nil {
		return true
	}
	g, err := draw(&d)
	if err != nil {
		return true
	}
	for _, s := range g.sharp() {
		if s {
			return true
		}
	}
	return false
}
