package syntax

// PrintedAll is Print, and whether all of the node was written.
var PrintedAll = printed
