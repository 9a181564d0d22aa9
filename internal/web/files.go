package web

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"panelwright/internal/job"
)

// Bounds of what is imported, whatever it says of itself.
const (
	importFiles = 64
	importJob   = 4 << 20 // bytes of the job's text
	importAll   = 8 << 20 // bytes of all files, unpacked
)

// zipTime is the time of every file of a zip: the earliest that the format knows, so that the same files give the same bytes.
var zipTime = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

func fileNames(files map[string][]byte) []string { return slices.Sorted(maps.Keys(files)) }

func filesOf(v Revision) []fileRow {
	var out []fileRow
	for _, name := range fileNames(v.Files) {
		out = append(out, fileRow{name, len(v.Files[name])})
	}
	return out
}

// zipOf packs files in their order; the same files give the same bytes.
func zipOf(names []string, data func(name string) []byte) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range names {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: zipTime})
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(data(name)); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// download sends bytes to be kept under a name.
func download(w http.ResponseWriter, kind, name string, data []byte) error {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	w.Header().Set("Content-Length", strconv.Itoa(len(data)))
	_, err := w.Write(data)
	return ignoreGone(err)
}

// jobZip gives the job with the files that it names, as import takes it.
func (s *server) jobZip(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	names := append([]string{"job.yaml"}, fileNames(v.Files)...)
	data, err := zipOf(names, func(name string) []byte {
		if name == "job.yaml" {
			return []byte(v.Text)
		}
		return v.Files[name]
	})
	if err != nil {
		return err
	}
	return download(w, "application/zip", "job.zip", data)
}

// importVehicle takes a job file with the files that it names, or the job.zip of a bench.
func (s *server) importVehicle(w http.ResponseWriter, r *http.Request) error {
	parts, err := r.MultipartReader()
	if err != nil {
		return refuse(http.StatusUnsupportedMediaType, "Not a form", "This address takes the form of its page only.")
	}
	c, err := readImport(parts)
	if err != nil {
		return err
	}
	if err := plainText(c.Text); err != nil {
		return err
	}
	j, faults := job.Read("job.yaml", []byte(c.Text), Revision{Content: c}.Open)
	if j == nil {
		text := "It is empty."
		if len(faults) > 0 {
			text = faults[0].Error() + "."
		}
		return refuse(http.StatusUnprocessableEntity, "Not a job file", "%s Nothing was imported.", text).back("/#import", "Choose another file")
	}
	if c.Name = j.Name; c.Name == "" {
		c.Name = "imported"
	}
	c.Note = "imported"
	id, err := s.Book.Create(r.Context(), c, s.at())
	if err != nil {
		return err
	}
	see(w, r, address(id, ""), "imported")
	return nil
}

// readImport reads the parts of the import form into memory, within bounds.
func readImport(parts *multipart.Reader) (Content, error) {
	c := Content{Files: map[string][]byte{}}
	seen := false
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return c, brokenUpload(err)
		}
		data, err := io.ReadAll(part)
		if err != nil {
			return c, brokenUpload(err)
		}
		name := part.FileName()
		switch {
		case name == "" && len(data) == 0: // a field without a file
		case part.FormName() == "job" && isZip(data):
			seen = true
			if err := unzip(data, &c); err != nil {
				return c, err
			}
		case part.FormName() == "job":
			seen, c.Text = true, string(data)
		case part.FormName() == "files":
			if err := addFile(&c, name, data); err != nil {
				return c, err
			}
		}
	}
	switch {
	case !seen:
		return c, refuse(http.StatusUnprocessableEntity, "No file", "Choose a job file first.").back("/#import", "Choose a file")
	case len(c.Text) > importJob:
		return c, tooMuch()
	}
	return c, nil
}

func brokenUpload(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return err
	}
	return refuse(http.StatusBadRequest, "Not readable", "The upload came broken. Send it again; nothing was imported.")
}

func tooMuch() error {
	return refuse(http.StatusRequestEntityTooLarge, "Too large", "A job has at most %d MB of text and %d files of %d MB together. Nothing was imported.",
		importJob>>20, importFiles, importAll>>20)
}

func addFile(c *Content, name string, data []byte) error {
	sum := len(data)
	for _, d := range c.Files {
		sum += len(d)
	}
	if sum > importAll || len(c.Files) >= importFiles {
		return tooMuch()
	}
	if !plainName(name) {
		return refuse(http.StatusUnprocessableEntity, "Not a file name", "A file of the import has a name that is not taken: letters, digits, blanks, . - _ and folders below the job, at most %d letters. Rename it, and name it so in the job.", nameMax)
	}
	c.Files[name] = data
	return nil
}

// plainName says whether a file name stays below the job's folder wherever it is unpacked, and is one on every system.
func plainName(name string) bool {
	if name == "" || len([]rune(name)) > nameMax || path.Clean(name) != name || strings.HasPrefix(name, "/") || plainText(name) != nil {
		return false
	}
	for _, p := range strings.Split(name, "/") {
		if p == ".." || p == "." || strings.HasSuffix(p, " ") || strings.HasSuffix(p, ".") {
			return false
		}
	}
	return !strings.ContainsAny(name, "\\:*?\"<>|\r\n\t")
}

func isZip(data []byte) bool { return bytes.HasPrefix(data, []byte("PK\x03\x04")) }

// unzip reads a job.zip within bounds: it unpacks no more than they allow, whatever the archive says of its sizes.
func unzip(data []byte, c *Content) error {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "Not a zip", "The archive cannot be read. Unpack it and choose its files; nothing was imported.").back("/#import", "Choose another file")
	}
	if len(z.File) > importFiles+1 {
		return tooMuch()
	}
	left := int64(importAll)
	found := false
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		in, err := f.Open()
		if err != nil {
			return refuse(http.StatusUnprocessableEntity, "Not a zip", "A file of the archive cannot be read. Unpack it and choose its files; nothing was imported.")
		}
		text, err := io.ReadAll(io.LimitReader(in, left+1))
		in.Close()
		if err != nil {
			return refuse(http.StatusUnprocessableEntity, "Not a zip", "A file of the archive is damaged; nothing was imported.")
		}
		if left -= int64(len(text)); left < 0 {
			return tooMuch()
		}
		if f.Name == "job.yaml" {
			found, c.Text = true, string(text)
			continue
		}
		if err := addFile(c, f.Name, text); err != nil {
			return err
		}
	}
	if !found {
		return refuse(http.StatusUnprocessableEntity, "No job in it", "The archive has no job.yaml at its top. Nothing was imported.").back("/#import", "Choose another file")
	}
	return nil
}
