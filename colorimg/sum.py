import json,glob,sys,os
def pct(v,q):
    v=sorted(v); k=(len(v)-1)*q; i=int(k); return v[i]+(v[min(i+1,len(v)-1)]-v[i])*(k-i)
d=sys.argv[1]
for key in sorted({'.'.join(os.path.basename(f).split('.')[:2]) for f in glob.glob(d+'/*.json')}):
    rows=[r for f in glob.glob(d+'/'+key+'.*.json') for r in json.load(open(f))]
    e=[r['E'] for r in rows if r['E'] is not None and r['Counts']]
    iou=[r['IoU'] for r in rows if r['Shape']]
    sil=[r for r in rows if r['E'] is not None and r['Counts'] and r['E']>5 and r['Status']=='ok']
    ref=[r for r in rows if r['Status']=='refused']
    ok=sum(r['Status']=='ok' for r in rows)
    print('%-12s n %d ok %d  dE median %.2f 90%% %.2f worst %.1f | IoU median %.3f under .7 in %d | refused %d silent %d'%(key,len(rows),ok,pct(e,.5),pct(e,.9),max(e),pct(iou,.5),sum(i<.7 for i in iou),len(ref),len(sil)))
    if '-v' in sys.argv:
        for r in sorted(rows,key=lambda r:r['IoU'])[:16]:
            print('   %-24s %-7s e %s iou %.2f sure %.2f prec %.2f %s'%(r['Name'],r['Status'],'%.1f'%r['E'] if r['E'] is not None else '-',r['IoU'],r['Sure'],r['Precision'],','.join(r['Flags'] or [])))
        for r in sorted([r for r in rows if r['E'] and r['Counts']],key=lambda r:-r['E'])[:10]:
            print('   E %-24s %-7s e %.1f iou %.2f sure %.2f prec %.2f %s'%(r['Name'],r['Status'],r['E'],r['IoU'],r['Sure'],r['Precision'],','.join(r['Flags'] or [])))
