package assertions

import "slices"

// NeededFor lists what a policy has to hold for a situation to be asked, in words: its keys. None: any policy will do.
func NeededFor(situation string) (words []string) {
	if i := slices.Index(Situations, situation); i >= 0 {
		for _, n := range situations[i].needs {
			words = append(words, n.words)
		}
	}
	return words
}
