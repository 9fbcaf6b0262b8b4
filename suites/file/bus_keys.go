package file

import "hilrig/suites/language"

// receiverForms are the two ways in which a receiver speaks.
var receiverForms = []language.Form{
	{Has: []string{"bus"}, Table: busReceiverTable},
	{Has: []string{"steer"}, Table: receiverTable},
}

var busReceiverTable = language.NewTable("a receiver on a bus", "", []language.Key{{Name: "bus", Kind: language.Group, Required: true, Table: busTable, Doc: "all channels on one serial line"}})

var busTable = language.NewTable("a receiver bus", "100 kbaud, 8 data bits, even parity, 2 stop bits; frames of 25 bytes: 0x0F, 16 channels of 11 bits, the lowest bit first, a byte of flags, an end byte.", []language.Key{
	{Name: "port", Kind: language.Text, Required: true, Example: "receiver_bus", Doc: "name of its line, lower case with underscores"},
	{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "1 Hz", Most: "333 Hz", Example: "70 Hz", Doc: "frames a second"},
	{Name: "upright", Kind: language.Flag, Doc: "the line rests high; left out: no, it is inverted"},
	{Name: "steer", Kind: language.Group, Required: true, Table: busSteerTable, Doc: "steering"},
	{Name: "throttle", Kind: language.Group, Required: true, Table: busChannelTable, Doc: "throttle"},
	{Name: "gain", Kind: language.Group, Required: true, Table: busChannelTable, Doc: "gain trim"},
	{Name: "rest", Kind: language.Whole, Least: "0", Most: "2047", Example: "992", Doc: "counts of the other channels; left out: 992"},
	{Name: "flags", Kind: language.Whole, Least: "0", Most: "15", Doc: "bit 0 channel 17, 1 channel 18, 2 frame lost, 3 failsafe; left out: 0"},
	{Name: "end", Kind: language.Whole, Least: "0", Most: "255", Example: "0x00", Doc: "the last byte; left out: 0"},
	{Name: "device", Kind: language.Text, Example: "/dev/ttyAMA0", Doc: "the port's device file, on a Raspberry Pi"},
	{Name: "pin", Kind: language.Pin, Example: "GPIO14", Doc: "the pin that it sends on; with a USB adapter, the pin that reads its wire back; left out: GPIO14, or none with a USB adapter"},
})

var busNumberKey = language.Key{Name: "channel", Kind: language.Whole, Required: true, Least: "1", Most: "16", Example: "1", Doc: "which of the 16 channels it is"}

var busSteerTable = language.NewTable("the steering channel of a bus", "What the pulses stand for is in the car file's steering table.", []language.Key{
	busNumberKey,
	{Name: "counts", Kind: language.Whole, Many: language.Two, Required: true, Least: "0", Most: "2047", Example: "1811", Doc: "two counts"},
	{Name: "pulses", Kind: language.Measure, Quantity: language.Duration, Many: language.Two, Required: true, Least: "0 us", Most: "5 ms", Example: "2012 us", Doc: "the pulses that the receiver would send the servo at these counts"},
})

var busChannelTable = language.NewTable("a channel of a receiver bus", "", []language.Key{
	busNumberKey,
	{Name: "idle", Kind: language.Whole, Required: true, Least: "0", Most: "2047", Example: "172", Doc: "counts that stand for 0 %"},
	{Name: "full", Kind: language.Whole, Required: true, Least: "0", Most: "2047", Example: "1811", Doc: "counts that stand for 100 %"},
})
