package job

import (
	"os"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

// Whatever stands in place of a value, a message repeats little of it, and nothing that would turn or colour a terminal.
func TestMessagesCutWhatTheyRepeat(t *testing.T) {
	text, err := os.ReadFile("testdata/every-key.yaml")
	if err != nil {
		t.Fatal(err)
	}
	long := strings.Repeat("zq", 400)
	lines := strings.Split(string(text), "\n")
	seen := 0
	for i, line := range lines {
		for _, cut := range []string{": ", "[ ", ", "} {
			at := strings.Index(line, cut)
			if at < 0 {
				continue
			}
			for _, bad := range []string{long, `"` + long + `"`, `"7 ` + long + `"`, `"\x1b[31m\u202e` + long + `"`, long + ": 1, " + long, "[ " + long + " ]", "{ " + long + ": " + long + " }", strings.Repeat("9", 800)} {
				lines[i] = line[:at+len(cut)] + bad + ", " + line[at+len(cut):]
				_, faults := Read("job.yaml", []byte(strings.Join(lines, "\n")), noFiles)
				for _, f := range faults {
					seen++
					message := f.Error()
					if strings.Contains(message, long[:120]) || strings.Contains(message, strings.Repeat("9", 120)) || utf8.RuneCountInString(message) > 1200 {
						t.Fatalf("line %d: %d characters: %.300s", i+1, utf8.RuneCountInString(message), message)
					}
					if strings.ContainsFunc(message, func(r rune) bool { return !unicode.IsPrint(r) && r != '\t' }) {
						t.Fatalf("line %d: a message that does not print: %.200q", i+1, message)
					}
				}
			}
		}
		lines[i] = line
	}
	if seen < 1000 {
		t.Errorf("only %d messages", seen)
	}
}

// Names that are right and long are cut too, where a message has to name them.
func TestMessagesCutNames(t *testing.T) {
	name := strings.Repeat("rim ", 60)
	for _, change := range [][2]string{
		{"[front, right, rear, left], width", "[" + name + "], width"},
		{"name: flange,", "name: " + name + ", inset: 400,"},
		{"    supports", "    cut-outs: [ { name: " + name + ", circle: { at: [0, 0], diameter: 50 } } ]\n    supports"},
		{"    supports", "    stations: { given: [ { id: " + name + ", at: [900, 0] }, { id: " + name + ", at: [901, 0] } ] }\n    supports"},
		{"    supports", "    measured stacks: [ { station: " + name + ", stack: 4 ± 0.1 mm } ]\n    supports"},
		{"grp_csm30", name},
	} {
		if !strings.Contains(lidText, change[0]) {
			t.Fatalf("the lid has no %q", change[0])
		}
		_, faults := Read("job.yaml", []byte(strings.Replace(lidText, change[0], change[1], 1)), noFiles)
		if len(faults) == 0 {
			t.Errorf("no fault with %.20q", change[1])
		}
		for _, f := range faults {
			if strings.Contains(f.Error(), name[:80]) {
				t.Errorf("%v", f)
			}
		}
	}
}
