"""An invented list of shafts and one of points and heads, to try the comparison of builds with; no maker's figures."""

__all__ = ["POINTS", "SHAFTS"]

SHAFTS = """\
# Invented. One kind of shaft a line; length is the uncut shaft, end to end.
name,spine,weight,outer diameter,inner diameter,length,material,straightness,insert,nock,cost per dozen
thin 350,350,8.9 gr/in,0.222 in,0.166 in,32 in,carbon,0.003 in,20 gr,8 gr,168
thin 400,400,8.0 gr/in,0.218 in,0.166 in,31 1/2 in,carbon,0.003 in,20 gr,8 gr,168
middling 340,340,9.1 gr/in,0.296 in,0.246 in,32 in,carbon,0.006 in,16 gr,9 gr,96
middling 400,400,8.2 gr/in,0.291 in,0.246 in,32 in,carbon,0.006 in,16 gr,9 gr,96
wide 350,350,7.6 gr/in,0.364 in,0.318 in,32 1/2 in,carbon,0.003 in,24 gr,11 gr,150
wide 420,420,6.9 gr/in,0.360 in,0.318 in,32 in,carbon,0.003 in,24 gr,11 gr,150
"""
POINTS = """\
# Invented. Fixed and mechanical heads need their blades; kind is field, fixed or mechanical.
name,mass,kind,length,blades,blade area,width,cost per dozen
field 100,100 gr,field,0.9 in,,,,14
field 120,120 gr,field,1.0 in,,,,14
three-blade 100,100 gr,fixed,1.3 in,3,0.19 in2,1 1/16 in,132
three-blade 125,125 gr,fixed,1.4 in,3,0.22 in2,1 1/8 in,138
opening 100,100 gr,mechanical,1.5 in,2,0.06 in2,1 3/4 in,160
"""
