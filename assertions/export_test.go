package assertions

// Branches are the situations of the split itself.
var Branches = branches
