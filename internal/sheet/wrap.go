package sheet

import (
	"strings"
	"unicode/utf8"
)

// Leading is the distance of base lines over the Size, in everything that this package sets on several lines.
const Leading = 1.3

// Wrap breaks s into lines that are no wider than width (mm) at the Size given. It breaks at spaces and at line breaks in
// s; a word that is wider than a line alone is cut between letters. A no-break space holds. The result has at least one
// line; a line of one letter may be wider than width.
func Wrap(s string, width, size float64, f Font) []string {
	var out []string
	for _, para := range strings.Split(s, "\n") {
		line := ""
		for _, word := range strings.FieldsFunc(para, func(r rune) bool { return r == ' ' || r == '\t' || r == '\r' }) {
			joined := word
			if line != "" {
				joined = line + " " + word
			}
			if TextWidth(joined, size, f) <= width {
				line = joined
				continue
			}
			if line != "" {
				out = append(out, line)
			}
			var whole []string
			whole, line = cutWord(word, width, size, f)
			out = append(out, whole...)
		}
		out = append(out, line)
	}
	return out
}

// cutWord cuts a word into full lines and a rest that fits.
func cutWord(word string, width, size float64, f Font) (full []string, rest string) {
	for TextWidth(word, size, f) > width {
		n := fitting(word, width, size, f)
		if n == len(word) {
			break
		}
		full, word = append(full, word[:n]), word[n:]
	}
	return full, word
}

// fitting returns how many bytes of s fit in width, in whole letters and at least one.
func fitting(s string, width, size float64, f Font) int {
	_, n := utf8.DecodeRuneInString(s)
	for i, r := range s {
		end := i + utf8.RuneLen(r)
		if r == utf8.RuneError {
			_, l := utf8.DecodeRuneInString(s[i:])
			end = i + l
		}
		if i > 0 && TextWidth(s[:end], size, f) > width {
			break
		}
		n = end
	}
	return n
}

// FitText makes one line of s fit in width (mm): at size when it does, else at a smaller Size, down to least; below that it
// is cut and ends in "…", which says so to the reader.
func FitText(s string, width, size, least float64, f Font) (fitted string, fittedSize float64) {
	w := TextWidth(s, size, f)
	if w <= width || s == "" {
		return s, size
	}
	if smaller := size * width / w; smaller >= least {
		return s, smaller
	}
	room := width - TextWidth("…", least, f)
	n := fitting(s, room, least, f)
	return strings.TrimRight(s[:n], " ") + "…", least
}
