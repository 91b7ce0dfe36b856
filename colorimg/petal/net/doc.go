// Package net runs the small convolutional network that finds petals. Its input is
// a picture with marks of where the bloom is and is not; its output is class probabilities for each pixel.
//
// Start with [Finder], then [Net.Run]. Planes are float32, channel by channel, rows
// from the top. The package knows nothing of cameras, colours or plants, and does not
// train the network: see ../learn.
//
// The network is a U-Net (Ronneberger, Fischer, Brox 2015) of residual blocks, each
// a depthwise convolution and two pointwise ones (Sandler and others 2018; Liu and
// others 2022, from memory). Batch norms are folded into the convolutions. Matrix
// products use gonum's BLAS, or, on processors with AVX2, assembly that gives the same results.
package net
