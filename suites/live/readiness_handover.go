package live

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
)

// TripRemedy is what is to be done after a trip.
const TripRemedy = "take the motors' supply away by hand, see to what it says, and be ready anew"

// Took takes over what the worker found, and returns what it could not say itself.
func (r *Readiness) Took(ending supervisor.Ending, err error) (found []preflight.Result) {
	before := len(r.Left)
	handed, unread := r.fetch()
	if ending.Tripped || err != nil || unread != nil {
		r.Passed = interlock.Parts{}
	}
	switch {
	case ending.Tripped:
		r.Tripped = true
		found = append(found, preflight.Result{Check: "interlock", Grade: preflight.Wrong, Says: "the interlock tripped: " + ending.Why, Remedy: TripRemedy})
	case unread != nil && err == nil:
		found = append(found, preflight.Result{Check: "worker", Grade: preflight.Wrong, Says: "ended with " + ending.Worker, Remedy: "see what it said"})
	}
	if err != nil {
		found = append(found, Failed(err)[0])
	}
	for _, name := range r.Stages() {
		if !slices.Contains(handed.Began, name) && !slices.Contains(r.Left[before:], name) {
			r.Left = append(r.Left, name)
		}
	}
	return found
}

// HandOver leaves what was found so far to the supervisor's side.
func (r *Readiness) HandOver() error {
	if r.Found == "" {
		return nil
	}
	data, err := json.Marshal(r.Tried)
	if err == nil {
		err = os.WriteFile(r.Found, data, 0o600)
	}
	if err != nil {
		return fmt.Errorf("what was found is not handed over: %w", err)
	}
	return nil
}

// fetch takes over what the worker handed over. The error says why that is not known.
func (r *Readiness) fetch() (k Tried, err error) {
	data, err := os.ReadFile(r.Found)
	if err == nil {
		err = json.Unmarshal(data, &k)
	}
	if err != nil {
		return Tried{}, err
	}
	r.Spared = len(r.Left) + k.Spared
	r.Left = append(r.Left, k.Left...)
	r.Wrong += k.Wrong
	r.Warnings += k.Warnings
	r.Asked, r.Passed = k.Asked, k.Passed
	return k, nil
}
