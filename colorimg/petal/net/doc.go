// Package net runs the small convolutional network that has learnt to find
// petals: a picture and what was said of it in, probabilities of each pixel out.
//
// Start with [Finder], then [Net.Run]. Planes are float32, channel by channel, rows
// from the top. It knows nothing of cameras, colours or plants, and it does not
// learn: see ../learn for how the weights came to be.
//
// The network is a U-Net (Ronneberger, Fischer, Brox 2015) of residual blocks, each
// a depthwise convolution and two pointwise ones (Sandler and others 2018; Liu and
// others 2022, from memory). Batch norms are folded into the convolutions. The
// products are those of gonum's BLAS, or, where the processor has AVX2, the same ones several at a time.
package net
