package bench

// NoCause is the reason of a reading that was set aside only because it
// disagrees. Such a reading still counts for the bench's repeatability: to
// leave out what disagrees would make any caliper look good. A reading with a
// stated cause (a slip, a feather between the jaws) does not.
const NoCause = "no cause seen"
