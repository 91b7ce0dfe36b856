#!/usr/bin/python3
"""Labels photos of flowers that fill the middle of the picture, by GrabCut (Rother and others 2004), to be looked at one by one.

  cut.py PHOTOS OUT [NAME ...]

PHOTOS holds NAME.jpg, 224 x 224; without names, those in KEPT: what was looked at and found right. Writes OUT/NAME.png: 255 bloom,
200 its edge, what lies near the frame and the middle of those with many stamens, which learn.py takes for unknown, 0 else. Needs OpenCV.
"""
import sys

import cv2
import numpy as np

# Numbers of photos of the 17 category flower set, by its names for the kinds.
KEPT = {
    "iris": [402, 403, 404, 405, 406, 407, 408, 409, 411, 412, 414, 415, 416, 417, 418, 419, 420, 421, 422, 423, 424, 425, 426,
        427, 429, 430, 431, 433, 434, 435, 437, 438, 439, 441, 443, 447, 448, 450, 451, 453, 457, 458, 459, 460, 461, 462, 463,
        464, 465, 466, 467, 468, 469, 470, 472, 474, 475, 476, 477],
    "pansy": [1281, 1282, 1284, 1285, 1286, 1288, 1289, 1290, 1292, 1293, 1294, 1295, 1296, 1300, 1301, 1302, 1306, 1307, 1308,
        1309, 1310, 1311, 1312, 1318, 1319, 1321, 1322, 1324, 1325, 1327, 1329, 1330, 1333, 1334, 1336, 1339, 1340, 1341, 1342,
        1344, 1346, 1347, 1349, 1351, 1353, 1354, 1355],
    "tigerlily": [485, 486, 487, 488, 490, 493, 494, 495, 497, 500, 501, 503, 506, 509, 511, 514, 516, 522, 530, 544],
    "windflower": [1201, 1204, 1205, 1206, 1208, 1209, 1210, 1211, 1212, 1213, 1214, 1217, 1219, 1220, 1221, 1222, 1226, 1227,
        1228, 1229, 1230, 1231, 1233, 1234, 1235, 1236, 1237, 1238, 1240, 1242, 1244, 1245, 1246, 1248, 1249, 1252, 1254, 1256,
        1260, 1263, 1269, 1270, 1272, 1273, 1274, 1277, 1278],
    "fritillary": [641, 642, 645, 646, 647, 648, 650, 651, 652, 654, 656, 659, 662, 663, 666, 667, 668, 669, 670, 671, 672, 673,
        674, 675, 676, 678, 679, 681, 682, 686, 687, 688, 695, 696, 698, 699, 700, 703, 704, 705, 711, 715],
    "buttercup": [1122, 1123, 1124, 1125, 1126, 1129, 1130, 1132, 1133, 1134, 1135, 1137, 1139, 1141, 1142, 1143, 1144, 1145,
        1148, 1149, 1150, 1151, 1156, 1157, 1158, 1160, 1161, 1162, 1164, 1166, 1173, 1174, 1176, 1177, 1179, 1181, 1184, 1185,
        1187, 1188, 1189, 1190, 1193, 1194, 1195, 1196, 1197, 1198],
}


def name(kind, i):
    return "%s_image_%04d" % (kind, i)


def cut(im):
    """The bloom of a picture (h, w, 3) in blue, green, red: h x w of 0 and 1."""
    h, s, _ = cv2.split(cv2.cvtColor(im, cv2.COLOR_BGR2HSV))
    m = np.full(im.shape[:2], cv2.GC_BGD, np.uint8)
    m[8:-8, 8:-8] = cv2.GC_PR_FGD
    m[(h > 33) & (h < 85) & (s > 60)] = cv2.GC_PR_BGD  # green
    cv2.grabCut(im, m, None, np.zeros((1, 65)), np.zeros((1, 65)), 4, cv2.GC_INIT_WITH_MASK)
    bloom = cv2.morphologyEx(m & 1, cv2.MORPH_OPEN, np.ones((3, 3)))
    # Of its parts the one that has most of the middle, its small holes filled.
    y, x = np.mgrid[-1:1:im.shape[0] * 1j, -1:1:im.shape[1] * 1j]
    middle = 0.2 + 0.45 * np.exp(-(x ** 2 + y ** 2) / 0.5)
    n, parts = cv2.connectedComponents(bloom)
    bloom = (parts == max(range(1, n), key=lambda i: middle[parts == i].sum())).astype(np.uint8)
    n, parts, about, _ = cv2.connectedComponentsWithStats(1 - bloom)
    for i in range(1, n):
        left, top, w, h, area = about[i]
        if area < 250 and left > 0 and top > 0 and left + w < im.shape[1] and top + h < im.shape[0]:
            bloom[parts == i] = 1
    return bloom


def label(bloom, stamens):
    y = bloom * 255
    inner = cv2.erode(bloom, np.ones((3, 3)), borderType=cv2.BORDER_CONSTANT, borderValue=1)
    y[cv2.dilate(bloom, np.ones((5, 5))) != inner] = 200
    rim = np.ones_like(bloom)
    rim[9:-9, 9:-9] = 0
    y[(rim & cv2.dilate(bloom, np.ones((15, 15)))) > 0] = 200
    if stamens:
        at = np.array(np.nonzero(bloom))
        far = np.hypot(*(np.indices(bloom.shape) - np.median(at, 1)[:, None, None]))
        y[(bloom > 0) & (far < 0.3 * np.sqrt(bloom.sum() / np.pi))] = 200
    return y


if __name__ == "__main__":
    for n in sys.argv[3:] or [name(kind, i) for kind in KEPT for i in KEPT[kind]]:
        cv2.imwrite("%s/%s.png" % (sys.argv[2], n), label(cut(cv2.imread("%s/%s.jpg" % (sys.argv[1], n))), n[:2] in ("bu", "wi")))
