"""The program's figures against values from outside: standards, handbooks, worked examples.

Each value names its source beside it: an address, a text, or a library with its version; one that
nobody has looked up says "from memory" and is counted apart. A result that is off by twice its
tolerance is refused, and the tests prove it for each value. What is compared, how many different
values there are, and where they are printed (a test counts them; the tests' bodies hold more):

filling up (q.s.): 8
    rxcal.org; tipscollege.com; pharmacalculation.com; smartsolve.ai; basicmedicalkey.com;
    bnc-prod-frontend-alb-1551170086.us-east-1.elb.amazonaws.com
active and supplied percent: 10
    ajay.happi.rodmanadmin.com; armymedical.tpub.com; collegeofpharmacy.com; smartsolve.ai;
    pharmacytutor.com; certsforce.com
blends and premixes taken apart: 8
    scribd 580323051; sciemce.com; slideserve.com; qammunity.org; smartsolve.ai
hydrates both ways: 8
    compoundingtoday.com; bbc.co.uk; tmcleod.org; molmass 2026.1.8
water brought in: 6
    byjus.com; answers.yahoo.com; bbc.co.uk; compoundingtoday.com; qammunity.org; molmass
    2026.1.8
phase totals by mass: 7
    fr.slideserve.com; bnc-prod-frontend-alb-1551170086.us-east-1.elb.amazonaws.com; scribd
    672866704; senseofstudy.com; eng.kakprosto.ru
phases by volume: 9
    fr.slideserve.com; scribd 633595619; homework.zookal.com; pdfedu.com
density at a temperature: 12, 7 from memory
    iapws 1.5.5; scribd.com
additions on top: 6
    gradesaver.com; vizlearns.org; chemistry.about.com; qammunity.org
molar masses: 11
    molmass 2026.1.8; bcchemstore.com; m.chemicalbook.com
molality: 7
    sciencenotes.org; sartep.com; ausetute.com.au; transformationtutoring.com; shaalaa.com;
    molmass 2026.1.8
ionic strength: 8
    chemistry.coach; saps.glam.ac.uk; otvet.ya.guru; IUPAC Gold Book I03180
osmolality: 6
    globalrph.com; docplayer.net; molmass 2026.1.8
HLB that an oil phase asks for: 17
    ocl-journal.org; scribd 672866704; questionai.com.tr
HLB of a blend: 8
    PMC3969497; PMC4137601
HLB of one emulsifier: 21
    cosmetics.alfa-chemistry.com; swiftcraftymonkey.blogspot.com; molmass 2026.1.8;
    profilpelajar.com
a pair for a wanted HLB: 20
    PMC3969497; scribd 672866704; questionai.com.tr
heat: when it has melted: 7
    21 CFR 172.890; en.wikipedia.org; data.cas-msds.com; kemisstreekreations.com; CRC Handbook
    of Chemistry and Physics
free acid: 9
    yumpu.com; qammunity.org; questionai.com; davidchita.com; brewingforward.com
pKa of the sheets: 8
    PMC6624721; electrolyte library ionize 1.5.3; liquisearch.com; aqion.de
limits of law: 38
    register copy of 2015; ECHA list of Annex V as of 2024; consolidated text as of 2017-09-03
limits as acid: 8
    EU 1223/2009 Annex V; ecrobot.com
weighing: the bench rule: 8
    pharmacalculation.com; basicmedicalkey.com; pharmlabs.unc.edu; uhphar-4330.herokuapp.com;
    ehow.co.uk; collegeofpharmacy.com; gauthmath.com; bestchoice.net.nz; qammunity.org
weighing: minimum weight: 6
    ppmu.ouryao.com; atlanticscale.com
weighing: uncertainty: 7, 4 from memory
    th4.ilovetranslation.com; measurementuncertainty.org; uncertainties 3.2.3; math.techqa.club;
    atlanticscale.com
weighing: a premix: 6
    basicmedicalkey.com; scribd 545509411; ehow.co.uk
label: 15
    legislation.gov.uk; arrsys.com; oxfordbiosciences.com
cost: 6
    sites.ualberta.ca; apierce622.tripod.com; mathvine.com
import of makers' tables: 12
    soapmakingforum.com; docs.oracle.com; eggerapps.at; gradesaver.com; sundulerparents.com;
    unitconvertapp.net
together: 302 from 94 sources
"""
