package supervisor

import "hilrig/rig/interlock"

// read takes in the words that the worker has said. One that says no more is as good as
// dead.
func (c *core) read() {
	for {
		n, ended := c.peer.hear(c.buffer[c.partial:])
		if n == 0 {
			if ended && !c.bye && !c.lock.AtRest() {
				c.lock.WorkerGone(c.now)
			}
			return
		}
		n += c.partial
		at := 0
		for ; n-at >= wordSize; at += wordSize {
			c.word(c.buffer[at : at+wordSize])
		}
		c.partial = copy(c.buffer[:], c.buffer[at:n])
	}
}

// word takes one word in. What it says of relay and heartbeat is done by act.
func (c *core) word(src []byte) {
	kind, at, err := wordOf(src)
	if err != nil {
		c.lock.Failed(c.now, err.Error())
		return
	}
	at = min(at, c.now)
	c.heard = max(c.heard, at)
	if c.killAt != 0 && !c.spoke { // it only stood still for a while
		c.spoke = true
		c.killAt = max(c.killAt, c.now+mostSafe)
	}
	switch kind {
	case wordFed:
		c.lock.Fed(at)
	case wordLive:
		if err := c.lock.GoLive(c.now); err != nil {
			c.tell(orderRefused, err.Error())
		} else {
			c.wants = true
		}
	case wordProve:
		c.prove(proofOf(src))
	case wordLook:
		c.looks = true
	case wordBegin:
		_ = c.lock.Begin() // while it idles the worker plays on, to nobody's harm
	case wordLeave:
		c.lock.Leave(c.now)
		c.leaves = true
	case wordClosed:
		if c.killAt != 0 {
			c.killAt = max(c.killAt, c.now+mostEnding)
		}
	case wordSilent:
		c.lock.BoardSilent(c.now)
	case wordLimit:
		c.lock.MotorLimit(c.now)
	case wordLost:
		c.lock.TimingLost(c.now)
	case wordUnsupervised:
		c.lock.Failed(c.now, "the player had no word from the interlock")
	case wordBye:
		c.bye = true
	}
}

// prove has relay and heartbeat do something as they are tried: act does it.
func (c *core) prove(p interlock.Proof) {
	if err := c.lock.Prove(c.now, p); err != nil {
		c.tell(orderRefused, err.Error())
		return
	}
	c.proves, c.went = true, true
}
