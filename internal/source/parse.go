package source

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"

	"panelwright/internal/fault"
)

// Bounds of what is read, so that no file can make reading long or deep. The library's parser takes time with the square
// of the keys in one map (77 s at 200 000 on the machine where it was measured) and recurses with depth.
const (
	MaxBytes  = 4 << 20 // size of a file
	MaxDepth  = 64      // maps and lists within each other
	maxKeys   = 50_000  // in all maps together
	maxInMap  = 2_000   // in one map
	maxTokens = 600_000
	maxOdd    = 100 // anchors, aliases and tags: each is a fault, and many of them take the parser long
)

// Parse reads one YAML document. The node is nil only when nothing could be read; the faults are those of the YAML itself:
// too big, too deep, not UTF-8, a syntax error (the first only: nothing after it can be trusted), keys that stand twice,
// anchors, aliases, tags, merge keys, a second document. file is used in positions only. A byte order mark and CR LF line
// ends are taken as they come; columns count runes.
func Parse(file string, text []byte) (*Node, fault.List) {
	w := walker{file: file}
	src, ok := w.prepare(text)
	if !ok {
		return nil, w.faults
	}
	doc := w.parse(src)
	if doc == nil {
		return nil, w.faults
	}
	root := w.guarded(doc)
	w.faults.Sort()
	return root, w.faults
}

// walker turns the library's tree into nodes.
type walker struct {
	file   string
	lines  []string
	runes  [][]rune // of each line, made when first asked for
	faults fault.List
}

func (w *walker) fault(line, col int, path, rule, text, hint string) {
	w.faults = append(w.faults, fault.Fault{Pos: fault.Pos{File: w.file, Line: line, Col: col}, Path: path, Rule: rule, Text: text, Hint: hint})
}

// prepare checks the bytes and brings line ends to one kind.
func (w *walker) prepare(text []byte) (string, bool) {
	if len(text) > MaxBytes {
		w.fault(0, 0, "", "file-size", fmt.Sprintf("%d bytes, at most %d are read", len(text), MaxBytes), "check that this is the right file")
		return "", false
	}
	src := strings.TrimPrefix(string(text), "\ufeff")
	src = strings.ReplaceAll(strings.ReplaceAll(src, "\r\n", "\n"), "\r", "\n")
	w.lines = strings.Split(src, "\n")
	w.runes = make([][]rune, len(w.lines))
	for i, line := range w.lines {
		col := 0
		for _, c := range line {
			col++
			if c == utf8.RuneError && !utf8.ValidString(line) {
				w.fault(i+1, badColumn(line), "", "encoding", "bytes that are no UTF-8 text", "save the file as UTF-8")
				return "", false
			}
			if c == 0 || (c < ' ' && c != '\t') || c == 0x7f || c == '\ufeff' {
				w.fault(i+1, col, "", "encoding", fmt.Sprintf("the control character U+%04X", c), "delete it")
				return "", false
			}
		}
	}
	return src, true
}

// badColumn is the column of the first byte of line that is no UTF-8.
func badColumn(line string) int {
	col := 1
	for len(line) > 0 {
		c, size := utf8.DecodeRuneInString(line)
		if c == utf8.RuneError && size == 1 {
			return col
		}
		line, col = line[size:], col+1
	}
	return col
}

// parse runs the library. It has crashed on odd input before; a crash is reported as a fault of the file, at no line.
func (w *walker) parse(src string) (doc *ast.DocumentNode) {
	defer func() {
		if p := recover(); p != nil {
			w.fault(0, 0, "", "yaml", "text that the YAML reader cannot follow", "look for odd brackets, quotes or indentation")
			doc = nil
		}
	}()
	tokens := lexer.Tokenize(src)
	if !w.bounded(tokens) {
		return nil
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		w.syntax(err)
		return nil
	}
	for _, d := range file.Docs {
		if d.Body == nil {
			continue
		}
		if directive, is := d.Body.(*ast.DirectiveNode); is {
			w.refuse(directive.GetToken(), "", "yaml", "a directive (%)", "delete the line")
			continue
		}
		if doc == nil {
			doc = d
			continue
		}
		line := 0
		if d.Start != nil {
			line = d.Start.Position.Line
		}
		w.fault(line, min(line, 1), "", "one-document", "a second document in the file", "keep one; delete the line --- and what follows")
		break
	}
	if doc == nil {
		w.fault(1, 1, "", "empty-file", "nothing in the file", "")
	}
	return doc
}

// bounded checks the tokens before the parser, which recurses, sees them.
func (w *walker) bounded(tokens token.Tokens) bool {
	if len(tokens) > maxTokens {
		w.fault(0, 0, "", "file-size", fmt.Sprintf("%d words and signs, at most %d are read", len(tokens), maxTokens), "divide the file")
		return false
	}
	type group struct{ column, keys int }
	var open []group // the open block groups by column; those in brackets have column 0
	flow, keys, odd := 0, 0, 0
	for _, t := range tokens {
		switch t.Type {
		case token.SequenceStartType, token.MappingStartType:
			open = append(open, group{})
			flow++
		case token.SequenceEndType, token.MappingEndType:
			if flow > 0 {
				open, flow = open[:len(open)-1], flow-1
			}
		case token.AnchorType, token.AliasType, token.TagType, token.MergeKeyType:
			odd++
		}
		isKey := t.NextType() == token.MappingValueType
		if flow == 0 && (isKey || t.Type == token.SequenceEntryType || t.Type == token.MappingKeyType) {
			for len(open) > 0 && open[len(open)-1].column > t.Position.Column {
				open = open[:len(open)-1]
			}
			if len(open) == 0 || open[len(open)-1].column < t.Position.Column {
				open = append(open, group{column: t.Position.Column})
			}
		}
		if isKey && len(open) > 0 {
			open[len(open)-1].keys++
			keys++
		}
		text, hint := "", "divide the file"
		switch {
		case len(open) > MaxDepth:
			text, hint = fmt.Sprintf("more than %d groups within each other", MaxDepth), "check brackets and indentation"
		case odd > maxOdd:
			text, hint = fmt.Sprintf("more than %d anchors, aliases and tags", maxOdd), "write the values out; put quotes around text that begins with & * or !"
		case keys > maxKeys:
			text = fmt.Sprintf("more than %d keys", maxKeys)
		case isKey && open[len(open)-1].keys > maxInMap:
			text = fmt.Sprintf("more than %d keys in one group", maxInMap)
		default:
			continue
		}
		w.fault(t.Position.Line, max(1, t.Position.Column), "", "file-size", text, hint)
		return false
	}
	return true
}

// syntax turns the library's error into a fault with a place and, where the cause is a usual one, a way out.
func (w *walker) syntax(err error) {
	line, col, message := 0, 0, ""
	var located interface {
		GetMessage() string
		GetToken() *token.Token
	}
	if errors.As(err, &located) {
		message = located.GetMessage()
		if t := located.GetToken(); t != nil && t.Position != nil {
			line, col = t.Position.Line, max(1, t.Position.Column)
		}
	} else { // only here: the library's Error draws the whole file, in time with the square of its length
		message, _, _ = strings.Cut(err.Error(), "\n")
	}
	w.fault(line, col, "", "yaml", "not YAML: "+short(message), w.syntaxHint(line, message))
}

// short bounds what the library says: it repeats what it could not read.
func short(message string) string {
	const most = 100
	r := []rune(message)
	for i, c := range r {
		if c != '\t' && !unicode.IsPrint(c) {
			r[i] = '\uFFFD'
		}
	}
	if len(r) > most {
		return string(r[:most]) + "…"
	}
	return string(r)
}

// line gives the runes of line n, counted from 1; nil beyond the file.
func (w *walker) line(n int) []rune {
	if n < 1 || n > len(w.lines) {
		return nil
	}
	if w.runes[n-1] == nil {
		w.runes[n-1] = []rune(w.lines[n-1])
	}
	return w.runes[n-1]
}

func (w *walker) syntaxHint(line int, message string) string {
	text := string(w.line(line))
	indent := text[:len(text)-len(strings.TrimLeft(text, " \t"))]
	closers := strings.Count(text, "]") + strings.Count(text, "}") - strings.Count(text, "[") - strings.Count(text, "{")
	switch {
	case strings.Contains(indent, "\t"):
		return "indent with spaces, not tabs"
	case strings.Contains(text, "readings [") && strings.Contains(text, "{"):
		return `within { } put quotes around it: "readings [6.1, 6.2] mm"`
	case strings.Contains(message, "reserved character") || strings.Contains(message, "directive"):
		return "put the value in quotes"
	case strings.Contains(message, "quoted text"):
		return "close the quotes; text that holds an inch mark needs the other kind, as '1-3/16\"'"
	case strings.Contains(message, "alias name") || strings.Contains(message, "anchor"):
		return "put quotes around text that begins with & or *"
	case strings.Contains(message, "escape character"):
		return "put single quotes around text that holds a backslash"
	case strings.Contains(message, "block sequence"):
		return "begin a list on the line below its key, or write it as [a, b]"
	case closers > 0:
		return "delete the closing bracket that is too many, or open it"
	case strings.Contains(message, "must be specified") || strings.Contains(message, "not found"):
		return "close the bracket, and put quotes around values that hold brackets, commas or colons"
	case strings.Contains(text, ",,") || strings.Contains(text, "[,"):
		return "delete the comma that is too many"
	case strings.ContainsAny(text, `'"`):
		return "check the quotes: within ' ' an apostrophe is written twice"
	case strings.Contains(message, "not allowed in this context"):
		return "one key on each line, those of one group indented alike; put quotes around a value that holds a colon and a space"
	}
	return "look for a missing quote, bracket or colon, or uneven indentation, here or just above"
}
