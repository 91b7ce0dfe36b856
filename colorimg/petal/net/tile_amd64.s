#include "textflag.h"

// func tiles(out *float32, outStride uintptr, x *float32, xStride uintptr, w *float32, wStride uintptr, in, n int)
TEXT ·tiles(SB), NOSPLIT, $0-64
	MOVQ out+0(FP), DI
	MOVQ outStride+8(FP), R8
	MOVQ x+16(FP), SI
	MOVQ xStride+24(FP), R9
	MOVQ w+32(FP), BX
	MOVQ wStride+40(FP), R10
	MOVQ n+56(FP), DX
	LEAQ (R8)(R8*2), R11
	LEAQ (R10)(R10*2), R12

tile: // Y0 to Y7 are the sums: four rows of two times eight
	VMOVUPS (DI), Y0
	VMOVUPS 32(DI), Y1
	VMOVUPS (DI)(R8*1), Y2
	VMOVUPS 32(DI)(R8*1), Y3
	VMOVUPS (DI)(R8*2), Y4
	VMOVUPS 32(DI)(R8*2), Y5
	VMOVUPS (DI)(R11*1), Y6
	VMOVUPS 32(DI)(R11*1), Y7
	MOVQ    SI, R13
	MOVQ    BX, AX
	MOVQ    in+48(FP), CX

row: // of x
	VMOVUPS      (R13), Y8
	VMOVUPS      32(R13), Y9
	VBROADCASTSS (AX), Y10
	VBROADCASTSS (AX)(R10*1), Y11
	VMULPS       Y8, Y10, Y12
	VMULPS       Y9, Y10, Y13
	VADDPS       Y12, Y0, Y0
	VADDPS       Y13, Y1, Y1
	VMULPS       Y8, Y11, Y12
	VMULPS       Y9, Y11, Y13
	VADDPS       Y12, Y2, Y2
	VADDPS       Y13, Y3, Y3
	VBROADCASTSS (AX)(R10*2), Y10
	VBROADCASTSS (AX)(R12*1), Y11
	VMULPS       Y8, Y10, Y12
	VMULPS       Y9, Y10, Y13
	VADDPS       Y12, Y4, Y4
	VADDPS       Y13, Y5, Y5
	VMULPS       Y8, Y11, Y12
	VMULPS       Y9, Y11, Y13
	VADDPS       Y12, Y6, Y6
	VADDPS       Y13, Y7, Y7
	ADDQ         R9, R13
	ADDQ         $4, AX
	DECQ         CX
	JNZ          row

	VMOVUPS Y0, (DI)
	VMOVUPS Y1, 32(DI)
	VMOVUPS Y2, (DI)(R8*1)
	VMOVUPS Y3, 32(DI)(R8*1)
	VMOVUPS Y4, (DI)(R8*2)
	VMOVUPS Y5, 32(DI)(R8*2)
	VMOVUPS Y6, (DI)(R11*1)
	VMOVUPS Y7, 32(DI)(R11*1)
	ADDQ    $64, DI
	ADDQ    $64, SI
	DECQ    DX
	JNZ     tile
	VZEROUPPER
	RET
