package fault

import "slices"

// Bounds of Nearest, common sense and no source: a third of the letters may be wrong, and a word of four letters may stand
// for a longer one that it begins (thick for thickness).
const (
	nearestShare   = 3
	nearestPrefix  = 4
	nearestLongest = 64 // runes: no key or part name is longer, and it bounds the work
)

// Nearest finds the known word that was most likely meant: the one with the least edit distance (insert, delete, change,
// or swap of neighbours, each 1; case counts nothing, nor which of space, hyphen and underscore joins words), if that is
// at most a third of the longer word, or one of the two begins the other. One wrong letter is always allowed, but at least
// one must be right. Ties go to the word that comes first in the alphabet, so the answer does not hang on the order of
// known. False when nothing is near enough, or when word is empty.
func Nearest(word string, known []string) (string, bool) {
	w := []rune(fold(word))
	if len(w) == 0 || len(w) > nearestLongest {
		return "", false
	}
	best, least := "", -1
	for _, k := range known {
		kr := []rune(fold(k))
		if len(kr) == 0 || len(kr) > nearestLongest {
			continue
		}
		shorter, longer := min(len(w), len(kr)), max(len(w), len(kr))
		d := distance(w, kr)
		begins := shorter >= nearestPrefix && d == longer-shorter && string(w[:shorter]) == string(kr[:shorter])
		if (d > max(1, longer/nearestShare) && !begins) || d >= shorter && !begins {
			continue
		}
		if least < 0 || d < least || (d == least && k < best) {
			best, least = k, d
		}
	}
	return best, least >= 0
}

// fold makes case, and the three ways of joining words (space, hyphen, underscore), equal.
func fold(s string) string {
	r := []rune(s)
	for i, c := range r {
		switch {
		case c >= 'A' && c <= 'Z':
			r[i] = c + 'a' - 'A'
		case c == '-' || c == '_':
			r[i] = ' '
		}
	}
	return string(r)
}

// distance is the optimal string alignment distance: Damerau's four edits, no part edited twice. After the recurrence of
// Damerau (1964), from memory; the test compares it with a plain recursion.
func distance(a, b []rune) int {
	before, last := make([]int, len(b)+1), make([]int, len(b)+1)
	row := make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i, ca := range a {
		row[0] = i + 1
		for j, cb := range b {
			change := 1
			if ca == cb {
				change = 0
			}
			row[j+1] = min(row[j]+1, last[j+1]+1, last[j]+change)
			if i > 0 && j > 0 && ca == b[j-1] && a[i-1] == cb {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}

// Meant is the hint for an unknown word: `did you mean "thickness"?` when one is near, else the known words.
func Meant(word string, known []string) string {
	if near, ok := Nearest(word, known); ok {
		return `did you mean "` + near + `"?`
	}
	if len(known) == 0 {
		return ""
	}
	sorted := slices.Sorted(slices.Values(known))
	out := "known here: "
	for i, k := range sorted {
		if i > 0 {
			out += ", "
		}
		out += k
	}
	return out
}
