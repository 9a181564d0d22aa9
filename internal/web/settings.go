package web

import (
	"net/http"
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
	keep := func(name, value string, accepted ...string) {
		for _, a := range accepted {
			if a == value {
				http.SetCookie(w, &http.Cookie{Name: name, Value: value, Path: "/", MaxAge: int(cookieLife.Seconds()), HttpOnly: true, SameSite: http.SameSiteStrictMode})
			}
		}
	}
	keep(unitCookie, r.PostForm.Get("units"), "mm", "inch")
	keep(themeCookie, r.PostForm.Get("theme"), "auto", "light", "dark")
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
