package campaign

import (
	"slices"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// soaks says whether a fault is hunted by the suite [standard.Soak]: it shows no sooner, and the suites are the whole
// standard set, of which soak is left out for its length alone.
func soaks(f *Seeded, files *suites.Files) bool {
	return f.Late && !slices.ContainsFunc(standard.Names(), func(name string) bool {
		path, _, _ := standard.Source(name)
		return !slices.ContainsFunc(files.Suites, func(s language.Source) bool { return s.Path == path })
	})
}

// soak returns the source of that suite.
func soak() language.Source {
	path, data, _ := standard.Source(standard.Soak)
	return language.Source{Path: path, Data: data}
}

// soaking returns files with that suite alone.
func soaking(files suites.Files) suites.Files {
	files.Suites = []language.Source{soak()}
	return files
}

// andSoaking returns files with that suite beside the others, and before them, for it takes longest.
func andSoaking(files suites.Files) suites.Files {
	files.Suites = append([]language.Source{soak()}, files.Suites...)
	return files
}

// hunted returns what is played to a fault of a subject.
func (s *Subject) hunted(f *Seeded) suites.Files {
	files := s.with(f.Name)
	if soaks(f, &files) {
		return soaking(files)
	}
	return files
}

// firstLength returns how long the suite is that is played to a fault first; whole is what is played to the others.
func (s *Subject) firstLength(f *Seeded, whole *suites.Setup) (signal.Time, error) {
	if !soaks(f, &s.healthy) {
		all := playing(whole, f)
		if len(all) == 0 {
			return 0, nil // it need not be found, and nobody's own suite might
		}
		return whole.SuiteLength(all[0]), nil
	}
	setup, err := suites.Load(soaking(s.healthy))
	if err != nil {
		return 0, err
	}
	return setup.SuiteLength(setup.Suites[0]), nil
}
