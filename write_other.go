//go:build !linux

package panelwright

import "errors"

var errNoExchange = errors.New("this system cannot exchange two folders in one step")

func exchange(a, b string) error { return errNoExchange }

// lockDir does nothing here: two writers of one pack at the same moment may then fail, but never mix their files, since
// the folder beside the pack is made by one of them only.
func lockDir(dir string) (unlock func(), err error) { return func() {}, nil }

// syncDir does nothing: folders cannot be synced on every such system.
func syncDir(dir string) error { return nil }
