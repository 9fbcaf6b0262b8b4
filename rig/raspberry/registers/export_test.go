package registers

// InRealTime is for the tests of what stands on this package.
var InRealTime = inRealTime
