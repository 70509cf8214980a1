package question

// Passing says whether the question names things that come up in passing, such
// as a phone or the weather; what is clearly asked beside them counts for more.
func (q *Question) Passing() bool { return q.mentions("scope:weak", q.Whole()) }
