package stock

// StudByID finds a stud of the range; the pointer is into the range.
func (r *Range) StudByID(id string) (*Stud, bool) {
	return findPart(r.Studs, func(s *Stud) bool { return s.ID == id })
}

// PlateByID finds a plate of the range; the pointer is into the range.
func (r *Range) PlateByID(id string) (*Plate, bool) {
	return findPart(r.Plates, func(p *Plate) bool { return p.ID == id })
}

// ReceptacleByID finds a receptacle of the range; the pointer is into the range.
func (r *Range) ReceptacleByID(id string) (*Receptacle, bool) {
	return findPart(r.Receptacles, func(c *Receptacle) bool { return c.ID == id })
}

// RivetByID finds a rivet of the range; the pointer is into the range.
func (r *Range) RivetByID(id string) (*Rivet, bool) {
	return findPart(r.Rivets, func(v *Rivet) bool { return v.ID == id })
}

// ShimByID finds a shim of the range; the pointer is into the range.
func (r *Range) ShimByID(id string) (*Shim, bool) {
	return findPart(r.Shims, func(s *Shim) bool { return s.ID == id })
}

func findPart[T any](parts []T, is func(*T) bool) (*T, bool) {
	for i := range parts {
		if is(&parts[i]) {
			return &parts[i], true
		}
	}
	return nil, false
}

// BandsFor lists what the range states for a pair on a plate, for any count of shims, in file order. A band that names no
// plate holds for every plate.
func (r *Range) BandsFor(stud, plate, receptacle string) []Band {
	var out []Band
	for _, b := range r.Bands {
		if b.Stud == stud && b.Receptacle == receptacle && (b.Plate == "" || b.Plate == plate) {
			out = append(out, b)
		}
	}
	return out
}

// HasGeometry says whether the pair can be computed: a reach, and a depth with a rate (a depth of 0 is a depth: the wire
// lies in the mounting face).
func HasGeometry(s *Stud, c *Receptacle) bool { return s.Reach.Nom > 0 && c.Rate.Nom > 0 }
