package usage

import (
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// oneEscaped is how the library's script escapes blanks: of a single word alone. What several words begin with is put on the
// line too, and would end at the first blank of it.
const oneEscaped = `        if (( ${#COMPREPLY[@]} == 1 )); then
            COMPREPLY[0]=$(printf "%q" "${COMPREPLY[0]}")
        fi
        return 0`

// allEscaped escapes all of them.
const allEscaped = `        if (( ${#COMPREPLY[@]} > 0 )); then
            IFS=$'\n' read -ra COMPREPLY -d '' < <(printf "%q\n" "${COMPREPLY[@]}")
        fi
        return 0`

// writeBash writes the script for bash.
func writeBash(root *cobra.Command, out io.Writer) error {
	var script bytes.Buffer
	if err := root.GenBashCompletionV2(&script, true); err != nil {
		return err
	}
	if !strings.Contains(script.String(), oneEscaped) {
		return errors.New("completion: the script for bash is not as it was; look at the version of the library that writes it")
	}
	_, err := io.WriteString(out, bashAlone+strings.Replace(script.String(), oneEscaped, allEscaped, 1))
	return err
}

// bashAlone is what the script for bash takes from the package bash-completion, for where that is not there. It is read
// before the script, and gives way to the package.
const bashAlone = `# Where the package bash-completion is missing, this does what is needed of it.
if ! declare -F _get_comp_words_by_ref >/dev/null 2>&1; then
_get_comp_words_by_ref()
{
    # Words as blanks part them: bash parts them at = and : as well.
    local rest=$COMP_LINE before i w
    words=() cword=0
    for ((i = 0; i < ${#COMP_WORDS[@]}; i++)); do
        w=${COMP_WORDS[i]} before=$rest
        rest=${rest#"${rest%%[![:space:]]*}"}
        if ((i > 0)) && [[ $before == "$rest" && ( $w != "" || $before == "" && $COMP_LINE != *[[:space:]] ) ]]; then
            words[${#words[@]} - 1]+=$w
        else
            words+=("$w")
        fi
        rest=${rest#"$w"}
        if ((i == COMP_CWORD)); then cword=$((${#words[@]} - 1)); fi
    done
    cur=${words[cword]} prev=
    if ((cword > 0)); then prev=${words[cword - 1]}; fi
}
fi
if ! declare -F _filedir >/dev/null 2>&1; then
_filedir()
{
    local kind=-f
    if [[ ${1-} == -d ]]; then kind=-d; fi
    local IFS=$'\n'
    COMPREPLY=($(compgen "$kind" -- "$cur"))
}
fi

`
