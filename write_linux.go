package panelwright

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

var errNoExchange = errors.New("this system cannot exchange two folders in one step")

// exchange swaps two folders in one step, or gives errNoExchange where the file system cannot.
func exchange(a, b string) error {
	err := unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
	if errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOTSUP) {
		return errNoExchange
	}
	return err
}

// lockDir holds off other writers of packs in the same parent folder until unlock. The system drops the lock when the
// process dies.
func lockDir(dir string) (unlock func(), err error) {
	f, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	if err := unix.Flock(int(f.Fd()), unix.LOCK_EX); err != nil && !errors.Is(err, unix.ENOTSUP) && !errors.Is(err, unix.EOPNOTSUPP) {
		return nil, errors.Join(err, f.Close())
	}
	return func() { f.Close() }, nil
}

func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
