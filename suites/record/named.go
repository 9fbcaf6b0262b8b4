package record

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"hilrig/suites/language"
)

// Named returns the folder of the record that a person calls by name: the path of a folder, the name of one under home, the
// label of the newest that has it; an empty name is the newest of all. What is in the folder is not looked at.
func Named(name, home string) (folder string, err error) {
	if _, err := os.Lstat(name); err == nil {
		return name, nil
	}
	folders, err := List(home)
	if err != nil {
		return "", err
	}
	if name == "" {
		if len(folders) == 0 {
			return "", fmt.Errorf("no record in %s; hilrig run keeps one", home)
		}
		return folders[len(folders)-1], nil
	}
	if strings.ContainsRune(name, filepath.Separator) {
		return "", fmt.Errorf("there is no folder %s; hilrig records lists what is kept", name)
	}
	var known []string
	for _, f := range folders {
		if filepath.Base(f) == name {
			return f, nil
		}
		known = append(known, filepath.Base(f))
	}
	entries, err := Entries(home)
	if err != nil {
		return "", err
	}
	if e, ok := Newest(entries, func(e *Entry) bool { return e.Label == name }); ok {
		return e.Folder, nil
	}
	for _, e := range entries {
		known = append(known, e.Label)
	}
	if near := language.Nearest(name, known); near != "" {
		return "", fmt.Errorf("there is no folder %s, and in %s no record of that name or label; use %s", name, home, near)
	}
	return "", fmt.Errorf("there is no folder %s, and in %s no record of that name or label; hilrig records lists what is kept", name, home)
}
