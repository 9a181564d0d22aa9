package web

import (
	"net/http"
	"slices"
	"strings"
)

// settings is the page of what one device wants.
func (s *server) settings(w http.ResponseWriter, r *http.Request) error {
	s.show(w, r, http.StatusOK, "settings", page{Title: "Settings", Body: ours(r.URL.Query().Get("from"))})
	return nil
}

func (s *server) saveSettings(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	for _, k := range []struct {
		cookie, field string
		accepted      []string
	}{{unitCookie, "units", []string{"mm", "inch"}}, {themeCookie, "theme", []string{"auto", "light", "dark"}}} {
		switch value := r.PostForm.Get(k.field); {
		case slices.Contains(k.accepted, value):
			http.SetCookie(w, &http.Cookie{Name: k.cookie, Value: value, Path: "/", MaxAge: int(cookieLife.Seconds()), HttpOnly: true, SameSite: http.SameSiteStrictMode})
		case r.PostForm.Has(k.field):
			return refuse(http.StatusUnprocessableEntity, "Not a setting", "%s: %q; accepted: %s.", k.field, value, strings.Join(k.accepted, ", ")).back("/settings", "To the settings")
		}
	}
	see(w, r, ours(r.PostForm.Get("from")), "settings")
	return nil
}

// ours is a path of this bench that somebody named, or the first page: a form cannot send the reader elsewhere.
func ours(path string) string {
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\r\n\t?#") || strings.HasPrefix(path, "/settings") {
		return "/"
	}
	return path
}
