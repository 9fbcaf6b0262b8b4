package usage

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"hilrig/suites/language"
)

// wanted says what a flag of a type takes, for those whose values are read before the command sees them.
var wanted = map[string]string{
	"uint64": "a whole number from 0 on", "int": "a whole number", "float64": "a number", "duration": "a time, as 90s or 10m", "bool": "true or false, or leave the value out",
}

// flagError says in our words what is wrong with a flag of c.
func flagError(c *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	var wrong *pflag.InvalidValueError
	var odd *pflag.InvalidSyntaxError
	switch {
	case errors.As(err, &unknown):
		return noFlag(c, unknown)
	case errors.As(err, &bare):
		value, _ := pflag.UnquoteUsage(bare.GetFlag())
		return fmt.Errorf("--%s lacks its value; write --%[1]s %s", bare.GetFlag().Name, value)
	case errors.As(err, &wrong):
		return fmt.Errorf("--%s is %q; it takes %s", wrong.GetFlag().Name, wrong.GetValue(), wanted[wrong.GetFlag().Value.Type()])
	case errors.As(err, &odd):
		return fmt.Errorf("%q is no flag; write --NAME or --NAME VALUE, as %s --help shows", odd.GetSpecifiedFlag(), c.CommandPath())
	}
	return err
}

// noFlag says that c has no such flag, and which is near.
func noFlag(c *cobra.Command, e *pflag.NotExistError) error {
	if letters := e.GetSpecifiedShortnames(); letters != "" {
		return fmt.Errorf("%s has no flag -%s; %[1]s --help lists them", c.CommandPath(), letters)
	}
	var names []string
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	if near := language.Nearest(e.GetSpecifiedName(), names); near != "" {
		return fmt.Errorf("%s has no flag --%s; use --%s", c.CommandPath(), e.GetSpecifiedName(), near)
	}
	return fmt.Errorf("%s has no flag --%s; %[1]s --help lists them", c.CommandPath(), e.GetSpecifiedName())
}

// together is how the library says that flags exclude each other. It has no type for that.
var together = regexp.MustCompile(`none of the others can be; \[(.*)\] were all set$`)

// Said returns the error of a command in our words, where the library put it in its own.
func Said(err error) error {
	if err == nil {
		return nil
	}
	if found := together.FindStringSubmatch(err.Error()); found != nil {
		var flags []string
		for name := range strings.FieldsSeq(found[1]) {
			flags = append(flags, "--"+name)
		}
		last := len(flags) - 1
		return fmt.Errorf("%s and %s exclude each other; leave one out", strings.Join(flags[:last], ", "), flags[last])
	}
	return err
}
