// Package campaign runs suites against boards that are wrong, to show what the suites
// are worth: one that finds no fault proves nothing of the board that passes it.
//
// [RunFaults] plays suites to a board once without and once with each of its faults, until a case finds it: a
// built-in board with the faults that can be seeded into it, or a program with those that its owner's file names. [RunNulls] plays them to boards that control nothing, and
// each suite has to fail on each of them. Both play in virtual time, as many boards side
// by side as there are cores, and what they return does not depend on how many.
//
// Outcomes are [record.Go], [record.NoGo] and [record.NotShown]; the exported types are
// written as JSON by the names in their tags.
package campaign
