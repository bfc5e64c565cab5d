package mqtt

// Unacked is the number of messages that were submitted and are not acknowledged
// to the broker yet.
func (c *Client) Unacked() int {
	conn := c.connection()
	if conn == nil {
		return 0
	}
	conn.acks.mu.Lock()
	defer conn.acks.mu.Unlock()
	return len(conn.acks.pending)
}
