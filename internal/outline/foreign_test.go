package outline

import (
	"errors"
	"strings"
	"testing"
)

// A file of another kind is named for what it is, by every reader, whatever its ending says.
func TestForeign(t *testing.T) {
	readers := map[string]func([]byte, Options) (*Drawing, error){"DXF": ReadDXF, "SVG": ReadSVG, "CSV": ReadCSV}
	for begins, word := range map[string]string{
		"%PDF-1.7\n": "a PDF", "PK\x03\x04rest": "a zip archive", "\x89PNG\r\n": "a picture", "\xff\xd8\xff\xe0": "a picture",
		"AC1027\x00": "AC1027", "\xff\xfex\x00": "UTF-16", "solid\x00\x01": "a binary file", " \n": "an empty file",
	} {
		for what, read := range readers {
			_, err := read([]byte(begins), Options{Unit: 1})
			var f *Fault
			if !errors.As(err, &f) || f.What != what || !strings.Contains(f.Text, word) || !strings.Contains(f.Text, "accepted: ") || f.Hint == "" {
				t.Errorf("%s, %q: %v", what, begins, err)
			}
		}
	}
}
