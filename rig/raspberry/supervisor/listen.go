package supervisor

import "hilrig/rig/interlock"

// read takes in the messages that the worker has said. One that says no more is as good as
// dead.
func (c *core) read() {
	for {
		n, ended := c.peer.hear(c.buffer[c.partial:])
		if n == 0 {
			if ended && !c.exiting && !c.lock.AtRest() {
				c.lock.WorkerGone(c.now)
			}
			return
		}
		n += c.partial
		at := 0
		for ; n-at >= messageSize; at += messageSize {
			c.message(c.buffer[at : at+messageSize])
		}
		c.partial = copy(c.buffer[:], c.buffer[at:n])
	}
}

// message takes one message in. What it says of relay and heartbeat is done by act.
func (c *core) message(src []byte) {
	kind, at, err := messageOf(src)
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
	case messageFed:
		c.lock.Fed(at)
	case messageLive:
		if err := c.lock.GoLive(c.now); err != nil {
			c.tell(commandDenied, err.Error())
		} else {
			c.waits = append(c.waits, kind)
		}
	case messageProve:
		c.prove(proofOf(src))
	case messageLook, messageGone:
		c.waits = append(c.waits, kind)
	case messageBegin:
		_ = c.lock.Begin() // while it idles the worker plays on, to nobody's harm
	case messageLeave:
		c.lock.Leave(c.now)
		c.waits = append(c.waits, kind)
	case messageClosed:
		if c.killAt != 0 {
			c.killAt = max(c.killAt, c.now+mostEnding)
		}
	case messageSilent:
		c.lock.BoardSilent(c.now)
	case messageLimit:
		c.lock.MotorLimit(c.now)
	case messageSourceLost:
		c.lock.SourceLost(c.now)
	case messageLevelTimeout:
		c.lock.TimedOut(c.now)
	case messageTurning:
		c.lock.Turning(at)
	case messageLost:
		c.lock.TimingLost(c.now)
	case messageUnsupervised:
		c.lock.Failed(c.now, "the worker had no message from the interlock")
	case messageExiting:
		c.exiting = true
	}
}

// prove has relay and heartbeat do something as they are tried: act does it.
func (c *core) prove(p interlock.Proof) {
	if err := c.lock.Prove(c.now, p); err != nil {
		c.tell(commandDenied, err.Error())
		return
	}
	c.waits, c.went = append(c.waits, messageProve), true
}
