package marking

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"panelwright/internal/sheet"
)

// look writes sheets where somebody wants to see them.
func look(t *testing.T, name string, sheets []sheet.Sheet) {
	t.Helper()
	dir := os.Getenv("PANELWRIGHT_LOOK")
	if dir == "" {
		return
	}
	var b bytes.Buffer
	err := sheet.WritePDF(&b, sheets, sheet.Info{Title: name})
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, name+".pdf"), b.Bytes(), 0o644)
	}
	if err != nil {
		t.Error(err)
	}
}
