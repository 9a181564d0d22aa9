package source

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"panelwright/internal/fault"
)

// printable lists what a text that is read may hold, from and to: Latin with its accents, Greek, Cyrillic, and the signs of
// the trade and of typography. The faces of the pack draw all of them, and none of them hides, turns or joins its
// neighbours: no control characters, no marks of direction, no zero widths, no combining accents.
var printable = [][2]rune{
	{0x0020, 0x007E}, {0x00A0, 0x00AC}, {0x00AE, 0x017F}, // Latin; 00AD is the soft hyphen
	{0x0391, 0x03A1}, {0x03A3, 0x03CE}, {0x0400, 0x045F}, // Greek, Cyrillic
	{0x1E9E, 0x1E9E}, {0x2002, 0x200A}, {0x2010, 0x2015}, // capital sharp s; spaces; hyphens and dashes
	{0x2018, 0x201E}, {0x2020, 0x2022}, {0x2026, 0x2026}, {0x202F, 0x2030}, {0x2032, 0x2033}, {0x2039, 0x203A}, {0x2044, 0x2044},
	{0x2070, 0x2070}, {0x2074, 0x207E}, {0x2080, 0x208E}, // raised and lowered figures
	{0x20AC, 0x20AC}, {0x2116, 0x2116}, {0x2122, 0x2122}, {0x2126, 0x2126}, {0x2153, 0x215E}, // signs and fractions
	{0x2190, 0x2199}, {0x2200, 0x2265}, {0x25A0, 0x25A1}, {0x25B2, 0x25B3}, {0x25CB, 0x25CB}, {0x25CF, 0x25CF}, // arrows, mathematics, marks
}

// Printable says whether a text that is read may hold r.
func Printable(r rune) bool {
	return slices.ContainsFunc(printable, func(s [2]rune) bool { return r >= s[0] && r <= s[1] })
}

// unprintable finds the first rune of s that may not stand in a text. Line ends and tabs may: who prints joins lines.
func unprintable(s string) (rune, bool) {
	for _, r := range s {
		if !Printable(r) && r != '\n' && r != '\t' {
			return r, true
		}
	}
	return 0, false
}

// characters reports a text that the pack could not print, or that would not read as it stands.
func (r *Reader) characters(n *Node) bool {
	c, bad := unprintable(n.Text)
	if !bad {
		return true
	}
	what, hint := fmt.Sprintf("the character %q (%U)", c, c), "write it in other letters"
	switch {
	case unicode.Is(unicode.Bidi_Control, c):
		what, hint = fmt.Sprintf("a mark of the direction of writing (%U)", c), "delete it: it makes text read otherwise than it stands"
	case unicode.IsControl(c):
		what, hint = fmt.Sprintf("a control character (%U)", c), "delete it"
	case unicode.Is(unicode.Mn, c):
		what, hint = fmt.Sprintf("an accent by itself (%U)", c), "write letter and accent as one character"
	case !unicode.IsPrint(c):
		what, hint = fmt.Sprintf("a character without a picture (%U)", c), "delete it"
	}
	r.Fault(n, "text-characters", what+" in "+Quote(n.Text)+"; accepted: Latin, Greek and Cyrillic letters, figures, and usual signs", hint)
	return false
}

// quoteMost is how much of a value a message repeats, runes: enough to find it, too little to pour a file into a terminal.
const quoteMost = 40

// Quote quotes a value for a message: cut where it is long, with what does not print written as its code.
func Quote(s string) string {
	n := 0
	for i := range s {
		if n++; n > quoteMost {
			return strconv.Quote(s[:i]) + "…"
		}
	}
	return strconv.Quote(s)
}

// Cut is Quote without quotes, for names within a sentence.
func Cut(s string) string {
	q := Quote(s)
	tail := ""
	if strings.HasSuffix(q, "…") {
		q, tail = strings.TrimSuffix(q, "…"), "…"
	}
	return strings.ReplaceAll(strings.ReplaceAll(q[1:len(q)-1], `\"`, `"`), `\\`, `\`) + tail
}

// Meant is fault.Meant with what is known cut short: a list that fills the screen helps nobody.
func Meant(word string, known []string) string {
	const most = 12
	if near, ok := fault.Nearest(word, known); ok {
		return `did you mean "` + Cut(near) + `"?`
	}
	sorted := slices.Sorted(slices.Values(known))
	more := ""
	if len(sorted) > most {
		sorted, more = sorted[:most], fmt.Sprintf(", … (%d in all)", len(known))
	}
	for i := range sorted {
		sorted[i] = Cut(sorted[i])
	}
	if len(sorted) == 0 {
		return ""
	}
	return "known here: " + strings.Join(sorted, ", ") + more
}
