package job

import (
	"panelwright/internal/fault"
	"panelwright/internal/source"
)

// place is where a field stood: its position and its path.
type place struct {
	pos  fault.Pos
	path string
}

// places finds fields by key, so that a rule that joins several of them can point at each. The empty key is the whole.
type places map[string]place

// placesOf remembers every value of f, and f itself.
func placesOf(f *source.Fields) places {
	out := places{"": {f.Node.Pos, f.Node.Path}}
	for _, e := range f.Node.Entries {
		out[e.Key] = place{e.Value.Pos, e.Value.Path}
	}
	return out
}

// of is the place of key, or of the whole where the file does not have it, or nowhere for what was not read from a file.
func (p places) of(key string) place {
	if at, ok := p[key]; ok {
		return at
	}
	return p[""]
}

// found collects faults of meaning.
type found struct{ list fault.List }

func (f *found) add(at place, rule, text, hint string) {
	f.list = append(f.list, fault.Fault{Pos: at.pos, Path: at.path, Rule: rule, Text: text, Hint: hint})
}
