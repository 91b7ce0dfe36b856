#include "textflag.h"

DATA few<>+0(SB)/8, $0.5
DATA few<>+8(SB)/8, $1e-6
DATA few<>+16(SB)/8, $158.0 // mostChroma, mostLight
DATA few<>+24(SB)/8, $1.0
DATA few<>+32(SB)/8, $4.0 // perChroma, perLight
DATA few<>+40(SB)/8, $3.0
DATA few<>+48(SB)/8, $0.02
DATA few<>+56(SB)/8, $9.5 // mostCot
DATA few<>+64(SB)/8, $0x7fffffffffffffff
DATA few<>+72(SB)/8, $9.6  // cotBefore
DATA few<>+80(SB)/8, $33.0 // perCot
DATA few<>+88(SB)/8, $0.045
DATA few<>+96(SB)/8, $0.015
DATA few<>+104(SB)/8, $0x7ff8000000000000 // not a number
DATA few<>+112(SB)/8, $50.0 // a mean chroma and lightness within the curves
GLOBL few<>(SB), RODATA|NOPTR, $120

// CURVE is curve.at of Y12 for the curve at R8, in Y4; it needs 3 in Y13, and writes over Y4 to Y12, AX, BX, CX and DX.
#define CURVE \
	VCVTTPD2DQY Y12, X4 \
	VCVTDQ2PD   X4, Y5 \
	VSUBPD      Y5, Y12, Y12 \
	VPSLLD      $1, X4, X4 \
	VMOVD       X4, AX \
	VPEXTRD     $1, X4, BX \
	VPEXTRD     $2, X4, CX \
	VPEXTRD     $3, X4, DX \
	VMOVUPD     (R8)(AX*8), Y4 \
	VMOVUPD     (R8)(BX*8), Y5 \
	VMOVUPD     (R8)(CX*8), Y6 \
	VMOVUPD     (R8)(DX*8), Y7 \
	VUNPCKLPD   Y5, Y4, Y8 \
	VUNPCKHPD   Y5, Y4, Y9 \
	VUNPCKLPD   Y7, Y6, Y10 \
	VUNPCKHPD   Y7, Y6, Y11 \
	VPERM2F128  $0x20, Y10, Y8, Y4 \
	VPERM2F128  $0x31, Y10, Y8, Y5 \
	VPERM2F128  $0x20, Y11, Y9, Y6 \
	VPERM2F128  $0x31, Y11, Y9, Y7 \
	VSUBPD      Y4, Y5, Y8 \
	VADDPD      Y7, Y6, Y9 \
	VADDPD      Y8, Y8, Y10 \
	VSUBPD      Y10, Y9, Y9 \
	VMULPD      Y8, Y13, Y10 \
	VADDPD      Y6, Y6, Y11 \
	VSUBPD      Y11, Y10, Y10 \
	VSUBPD      Y7, Y10, Y10 \
	VMULPD      Y9, Y12, Y9 \
	VADDPD      Y9, Y10, Y10 \
	VMULPD      Y10, Y12, Y10 \
	VADDPD      Y10, Y6, Y10 \
	VMULPD      Y10, Y12, Y10 \
	VADDPD      Y10, Y4, Y4

// LOAD puts the numbers at a place of four colours together.
#define LOAD(at, x, y) \
	VMOVSD      at(SI), x \
	VMOVHPD     (at+24)(SI), x, x \
	VMOVSD      (at+48)(SI), X4 \
	VMOVHPD     (at+72)(SI), X4, X4 \
	VINSERTF128 $1, X4, y, y

// func fours(n *Nearness, away *float64, x *Lab, times int)
TEXT ·fours(SB), NOSPLIT, $64-32
	MOVQ n+0(FP), R9
	MOVQ away+8(FP), DI
	MOVQ x+16(FP), SI
	MOVQ times+24(FP), R10
	MOVQ 32(R9), R11           // curves
	LEAQ few<>(SB), R12
	VBROADCASTSD 40(R12), Y13

four:
	LOAD(0, X0, Y0)  // L*
	LOAD(8, X1, Y1)  // a*
	LOAD(16, X2, Y2) // b*

	VMULPD       Y1, Y1, Y14
	VMULPD       Y2, Y2, Y4
	VADDPD       Y4, Y14, Y14
	VBROADCASTSD 8(R12), Y4
	VCMPPD       $0x1e, Y4, Y14, Y3
	VSQRTPD      Y14, Y14
	VBROADCASTSD 24(R9), Y4
	VADDPD       Y4, Y14, Y14
	VBROADCASTSD (R12), Y5
	VMULPD       Y5, Y14, Y14 // the mean chroma
	VBROADCASTSD (R9), Y4
	VADDPD       Y4, Y0, Y15
	VMULPD       Y5, Y15, Y15 // the mean lightness
	VBROADCASTSD 16(R12), Y6
	VCMPPD       $0x11, Y6, Y14, Y7
	VANDPD       Y7, Y3, Y3
	VCMPPD       $0x11, Y6, Y15, Y7
	VANDPD       Y7, Y3, Y3
	VBROADCASTSD 24(R12), Y6
	VCMPPD       $0x1e, Y6, Y15, Y7
	VANDPD       Y7, Y3, Y3
	VBROADCASTSD 112(R12), Y6
	VBLENDVPD    Y3, Y14, Y6, Y14
	VBLENDVPD    Y3, Y15, Y6, Y15

	VBROADCASTSD 32(R12), Y4
	VMULPD       Y4, Y14, Y12
	MOVQ         R11, R8
	CURVE

	VBROADCASTSD 8(R9), Y5
	VMULPD       Y5, Y4, Y5 // a1
	VMULPD       Y1, Y4, Y6 // a2
	VBROADCASTSD 16(R9), Y7
	VMULPD       Y5, Y5, Y8
	VMULPD       Y7, Y7, Y9
	VADDPD       Y9, Y8, Y8
	VSQRTPD      Y8, Y8     // c1
	VMULPD       Y6, Y6, Y9
	VMULPD       Y2, Y2, Y10
	VADDPD       Y10, Y9, Y9
	VSQRTPD      Y9, Y9     // c2
	VMULPD       Y8, Y9, Y10 // cc
	VMULPD       Y5, Y6, Y11
	VSUBPD       Y11, Y10, Y11
	VMULPD       Y7, Y2, Y12
	VSUBPD       Y12, Y11, Y11
	VXORPD       Y12, Y12, Y12
	VMAXPD       Y11, Y12, Y11
	VADDPD       Y11, Y11, Y11
	VMOVUPD      Y11, 0(SP)  // dh
	VMULPD       Y5, Y9, Y11
	VMULPD       Y6, Y8, Y12
	VADDPD       Y12, Y11, Y11 // a
	VMULPD       Y7, Y9, Y5
	VMULPD       Y2, Y8, Y12
	VADDPD       Y12, Y5, Y5   // b
	VSUBPD       Y8, Y9, Y1    // dc
	VADDPD       Y9, Y8, Y14
	VBROADCASTSD (R12), Y12
	VMULPD       Y12, Y14, Y14 // cm
	VBROADCASTSD 48(R12), Y12
	VMULPD       Y12, Y10, Y10
	VCMPPD       $0x1e, Y10, Y5, Y7
	VANDPD       Y7, Y3, Y3
	VDIVPD       Y5, Y11, Y11  // the cotangent
	VBROADCASTSD 64(R12), Y7
	VANDPD       Y7, Y11, Y7
	VBROADCASTSD 56(R12), Y12
	VCMPPD       $0x11, Y12, Y7, Y7
	VANDPD       Y7, Y3, Y3
	VXORPD       Y12, Y12, Y12
	VBLENDVPD    Y3, Y11, Y12, Y2

	VBROADCASTSD 32(R12), Y4
	VMULPD       Y4, Y15, Y12
	LEAQ         10240(R11), R8
	CURVE
	VBROADCASTSD (R9), Y5
	VSUBPD       Y5, Y0, Y0
	VMULPD       Y4, Y0, Y0    // dl

	VBROADCASTSD 72(R12), Y4
	VADDPD       Y4, Y2, Y12
	VBROADCASTSD 80(R12), Y4
	VMULPD       Y4, Y12, Y12
	LEAQ         20480(R11), R8
	CURVE

	VBROADCASTSD 24(R12), Y5
	VBROADCASTSD 88(R12), Y6
	VMULPD       Y6, Y14, Y6
	VADDPD       Y6, Y5, Y6    // sc
	VBROADCASTSD 96(R12), Y7
	VMULPD       Y7, Y14, Y7
	VMULPD       Y4, Y7, Y7
	VADDPD       Y7, Y5, Y7    // sh
	VMULPD       Y7, Y1, Y8
	VMULPD       Y7, Y6, Y9
	VMULPD       Y8, Y8, Y8
	VMOVUPD      0(SP), Y10
	VMULPD       Y6, Y10, Y10
	VMULPD       Y6, Y10, Y10
	VADDPD       Y10, Y8, Y8
	VMULPD       Y9, Y9, Y9
	VDIVPD       Y9, Y8, Y8
	VMULPD       Y0, Y0, Y0
	VADDPD       Y8, Y0, Y0
	VSQRTPD      Y0, Y0
	VBROADCASTSD 104(R12), Y4
	VBLENDVPD    Y3, Y0, Y4, Y0
	VMOVUPD      Y0, (DI)
	ADDQ         $32, DI
	ADDQ         $96, SI
	DECQ         R10
	JNZ          four
	VZEROUPPER
	RET
