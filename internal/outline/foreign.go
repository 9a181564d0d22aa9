package outline

import "bytes"

// foreign are kinds of files that people give for a drawing in text, by how they begin.
var foreign = []struct{ begins, is, hint string }{
	{"%PDF", "a PDF", "export the drawing itself: a PDF only shows it"},
	{"PK\x03\x04", "a zip archive, as office programs save", "unpack it, or export the drawing itself"},
	{"\x89PNG", "a picture (PNG)", "a picture has no outline: export the drawing, or trace it"},
	{"\xff\xd8\xff", "a picture (JPEG)", "a picture has no outline: export the drawing, or trace it"},
	{"AC10", "a DWG drawing", "export it anew: another ending alone changes nothing"},
	{"\xff\xfe", "UTF-16 text", "save it as UTF-8"},
	{"\xfe\xff", "UTF-16 text", "save it as UTF-8"},
}

// readable says whether text can be the kind of drawing that what names at all: not too large, not empty, not another kind of file.
func readable(text []byte, what, accepted, save string) error {
	if len(text) > MostBytes {
		return tooLarge(len(text))
	}
	if len(bytes.TrimSpace(text)) == 0 {
		return &Fault{What: what, Text: "an empty file; accepted: " + accepted, Hint: "save the drawing again"}
	}
	for _, f := range foreign {
		if bytes.HasPrefix(text, []byte(f.begins)) {
			is := f.is
			if f.begins == "AC10" {
				is += ", which begins with its version " + quote(string(text[:min(len(text), 6)]))
			}
			return &Fault{What: what, Text: is + "; accepted: " + accepted, Hint: f.hint}
		}
	}
	if bytes.IndexByte(text[:min(len(text), 4096)], 0) >= 0 {
		return &Fault{What: what, Text: "a binary file; accepted: " + accepted, Hint: save}
	}
	return nil
}
