package fault

import "slices"

// Nearest finds the known word that was most likely meant: the one with the least edit distance (insert, delete, change,
// or swap of neighbours, each 1; case counts nothing), if that is at most a third of the longer word, and at least one.
// Ties go to the word that comes first in the alphabet, so the answer does not hang on the order of known. False when
// nothing is near enough, or when word is empty.
func Nearest(word string, known []string) (string, bool) {
	const longest = 64 // runes: no key or part name is longer, and it bounds the work
	w := []rune(fold(word))
	if len(w) == 0 || len(w) > longest {
		return "", false
	}
	best, least := "", -1
	for _, k := range known {
		kr := []rune(fold(k))
		if len(kr) == 0 || len(kr) > longest {
			continue
		}
		allowed := max(1, max(len(w), len(kr))/3)
		if min(len(w), len(kr)) <= allowed && len(w) != len(kr) {
			allowed = min(len(w), len(kr)) - 1 // every letter may not be changed
		}
		d := distance(w, kr)
		if d > allowed || (d == len(w) && d == len(kr)) {
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
