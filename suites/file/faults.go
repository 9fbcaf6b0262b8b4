package file

import (
	"fmt"
	"strings"
	"unicode"

	"hilrig/suites/language"
)

// FaultsTable declares the faults file.
var FaultsTable = language.NewTable("a faults file", "The faults that a program of your own can have as the board, one at a time, for `hilrig faults --board-command 'COMMAND {fault}' --faults-file FILE`.", []language.Key{
	{Name: "faults", Kind: language.Text, Required: true, Example: "my board", Doc: "name of the board that can have them"},
	{Name: "about", Kind: language.Text, Doc: "what the board is, in a sentence"},
	{Name: "healthy", Kind: language.Text, Example: "none", Doc: "what stands for {fault} in the command of the board without a fault; left out: nothing"},
	{Name: "list", Kind: language.Group, Many: language.List, Required: true, Table: ownFaultTable, Doc: "the faults, each with a name of its own"},
})

var ownFaultTable = language.NewTable("a fault of a board", "", []language.Key{
	{Name: "fault", Kind: language.Text, Required: true, Example: "yaw_sign", Doc: "its name, without blanks, which stands for {fault} in the command"},
	{Name: "about", Kind: language.Text, Required: true, Example: "The yaw rate has the wrong sign.", Doc: "what is wrong with the board then, in a sentence"},
	{Name: "policy", Kind: language.Word, Words: PolicyKeys(), Doc: "key of the policy that makes it a fault: suites that ask for it are played first, and where the car's policy does not have it, the fault is not asked; left out: some suite has to find it, whatever the policy asks"},
	{Name: "harmless", Kind: language.Text, Example: "A mean does not show it.", Doc: "why the board is right with it all the same, so that nothing may fail; left out: it is wrong"},
})

// Faults is what a faults file declares.
type Faults struct {
	Source  language.Source
	Name    string // of the board
	About   string
	Healthy string // what the command of the board without a fault has for {fault}; may be empty
	List    []OwnFault
}

// OwnFault is a fault that a board of the owner's can have.
type OwnFault struct {
	Name     string // what the command has for {fault}
	About    string // what is wrong with the board then, in a sentence
	Policy   string // key of the policy that makes it a fault; empty: it is one whatever the policy says
	Harmless string // why the board is right with it; empty: it is wrong
}

// ParseFaults reads a faults file. The error is of type [language.Problems].
func ParseFaults(s language.Source) (*Faults, error) {
	r, v := open(s, FaultsTable)
	if v == nil {
		return nil, r.Problems.Sorted()
	}
	all := &Faults{Source: s, Name: v.Word("faults"), About: v.Word("about"), Healthy: v.Word("healthy")}
	if x := v.Get("healthy"); x != nil {
		r.argument(x, "healthy")
	}
	lines := map[string]int{} // by name of a fault
	for _, one := range v.List("list") {
		f := one.Mapping
		if x := f.Get("fault"); x != nil {
			r.argument(x, "fault")
			line, twice := lines[x.Word]
			switch {
			case twice:
				r.Report(x.Node, fmt.Sprintf("fault %q stands twice, first on line %d", language.Brief(x.Word), line), "give it another name, or take one of them away")
			case x.Word == all.Healthy:
				r.Report(x.Node, fmt.Sprintf("fault %q is what healthy says that the board without a fault has", language.Brief(x.Word)), "take it away, or give healthy another word")
			}
			if !twice {
				lines[x.Word] = x.Node.Line
			}
		}
		all.List = append(all.List, OwnFault{f.Word("fault"), f.Word("about"), f.Word("policy"), f.Word("harmless")})
	}
	if len(r.Problems) > 0 {
		return nil, r.Problems.Sorted()
	}
	return all, nil
}

// mostArgument is how many bytes a word for a command may have: it also stands in a column of a table.
const mostArgument = 60

// argument reports a text that is not to stand in a command.
func (r *reader) argument(x *language.Value, name string) {
	odd := strings.ContainsFunc(x.Word, func(c rune) bool { return unicode.IsSpace(c) || !unicode.IsPrint(c) })
	switch {
	case odd:
		r.Report(x.Node, fmt.Sprintf("%s is %q, with a blank or a letter that is not printed", name, language.Brief(x.Word)), "write one word, as "+name+": yaw_sign")
	case len(x.Word) > mostArgument:
		r.Report(x.Node, fmt.Sprintf("%s is %q, which is longer than %d letters", name, language.Brief(x.Word), mostArgument), "give it a shorter name")
	}
}
