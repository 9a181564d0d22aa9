package edit

import (
	"fmt"
	"strings"
	"unicode"
)

// Scalar writes s as one YAML value that reads back as s wherever it stands, within brackets too: plain where that is
// possible, else in double quotes, or in single ones where s itself holds double quotes or backslashes.
func Scalar(s string) string {
	switch {
	case plain(s):
		return s
	case strings.ContainsFunc(s, func(r rune) bool {
		return r < ' ' || r == 0x7f || r == '\ufeff' || r == '\u0085' || r == '\u2028' || r == '\u2029'
	}):
		return escaped(s)
	case strings.ContainsAny(s, `"\`):
		return "'" + strings.ReplaceAll(s, "'", "''") + "'"
	}
	return `"` + s + `"`
}

// plain says whether s needs no quotes.
func plain(s string) bool {
	switch strings.ToLower(s) {
	case "", "~", "null", "-", "---", "...", "<<", "=":
		return false
	}
	runes := []rune(s)
	first, last := runes[0], runes[len(runes)-1]
	if first == '-' && (len(runes) == 1 || !unicode.IsDigit(runes[1]) && runes[1] != '.') {
		return false
	}
	if first != '-' && first != '.' && first != '+' && !unicode.IsLetter(first) && !unicode.IsNumber(first) && first < 0x80 && first != '(' && first != '/' {
		return false
	}
	if unicode.IsSpace(first) || unicode.IsSpace(last) {
		return false
	}
	return !strings.ContainsFunc(s, func(r rune) bool {
		return strings.ContainsRune(",[]{}:#\"'\\`&*!|>%@?", r) && r != '%' || r < ' ' || r != ' ' && unicode.IsSpace(r) || !unicode.IsPrint(r)
	})
}

func escaped(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r == '\r':
			b.WriteString(`\r`)
		case r < ' ' || r == 0x7f || r == 0x85 || r == 0x2028 || r == 0x2029 || r == 0xfeff:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
