package edtf

// periodLists are the words that make or belong to a name of a period: they
// stay words and never become years. In order: names that stand alone, tails
// ("age", "period"), heads ("high", "post") and words for a reign.
var periodLists = [4]string{`
	roman romano romanesque romano roemisch romisch romische romischen romisches romeins romeinse
	romain romaine romains romersk romerske romerska romerskt romertid romerzeit roemerzeit
	romerzeitlich romerjarnalder provinzialromisch gallo galloromain romerreich kaiserzeit
	kaiserzeitlich republican imperial byzantine byzantinisch byzantijns byzantin byzantinsk
	prehistoric prehistory prahistorisch vorgeschichtlich vorgeschichte urgeschichte
	urgeschichtlich prehistorisch prehistorie prehistorique prehistoire protohistoire
	forhistorisk forhistorie oldtid oldtiden forntid forntida forntiden forhistoria
	palaeolithic paleolithic mesolithic neolithic chalcolithic eneolithic
	palaolithikum mesolithikum neolithikum neolithisch jungsteinzeit mittelsteinzeit altsteinzeit
	steinzeit steinzeitlich bronzezeit bronzezeitlich eisenzeit eisenzeitlich kupferzeit
	paleolithicum mesolithicum neolithicum neolithisch steentijd bronstijd ijzertijd
	paleolithique mesolithique neolithique
	stenalder stenalderen bronzealder bronzealderen jernalder jernalderen
	stenaldern bronsalder bronsaldern jarnalder jarnaldern
	stone bronze iron bronzetid
	hallstatt latene tene
	celtic celt keltisch keltische keltischen kelten celtique gaulois gauloise keltisk keltiska
	germanic germanisch germanischen germaans germanique germansk germanska
	saxon anglo angelsachsisch saksisch saxons norman normannisch normannic
	merovingian merowingisch merowingerzeit merovingisch merovingien merovingienne
	merovingisk carolingian karolingisch karolingerzeit karolingen carolingien carolingienne
	karolingisk karolingische ottonian ottonisch staufisch frankish frankisch
	viking vikings wikinger wikingerzeit wikingerzeitlich vikingtijd vikingetid vikingetiden
	vikingatid vikingatida vikingatiden vendeltid vendeltida germanertid
	medieval mediaeval postmedieval mittelalter mittelalters mittelalterlich mittelalterliche
	fruhmittelalter fruhmittelalterlich hochmittelalter hochmittelalterlich spatmittelalter
	spatmittelalterlich nachmittelalterlich
	middeleeuwen middeleeuws middeleeuwse vroegmiddeleeuws laatmiddeleeuws postmiddeleeuws
	medievale medievaux moyenageux
	middelalder middelalderen middelalderlig eftermiddelalder eftermiddelalderlig
	medeltid medeltiden medeltida eftermedeltida hogmedeltid
	neuzeit neuzeitlich
	moderne modern modernt nieuwe nytid nyere nyare nutid
	renaissance renaessance renassans barock baroque barok rokoko rococo empire
	gothic gotisch gotik gothique
	tudor tudors stuart stuarts elizabethan jacobean carolean caroline commonwealth restoration
	hanoverian georgian regency victorian edwardian interwar georgien victorien victorienne
	viktorianisch viktoriaans victoriaans victoriansk viktoriansk viktoriansk
	wilhelminisch biedermeier grunderzeit spatantike volkerwanderungszeit folkevandringstid folkvandringstid latenezeit
	efterreformatorisk eftermedeltid gustaviansk gustavianska karolinsk karolinska
	stormaktstid stormaktstiden vasatid vasatiden napoleonic napoleonisch napoleontisch
	napoleonien napoleonienne
	historic historisch civil dreissigjahriger dreissigjahrige dreissigjahrigen tachtigjarige trettioariga
	besaettelsen besaettelsestid besaettelsestiden bezettingstijd ockupationen
	kaiserreich kaiserreichs weimarer republik ddr napoleonzeit revolution revolutionnaire contemporain contemporaine contemporary franse frihetstiden frihetstid`,
	`age ages tijd temps regime tardive period periods era epoch epoque times time dynasty culture zeit zeitalter epoche tijdperk
	periode periodes tid tiden tidsalder antiquite antiquity antike antiquiteit antik alder alderen fer pierre moyen
	kultur mondiale`,
	`high post pre sub proto hoch hoog haut haute bas basse jungere jungeren jungerer altere alteren
	alterer aldre aeldre yngre ancien recent junger alter older younger ouder jonger`,
	`reign reigned regierungszeit regentschaft regering regne regeringstid king queen kaiser konig
	koenig keizer koning roi reine kong konge kung emperor`,
}

// warWords name a war, which a number may part from another: WW2, 2. Weltkrieg, World War II. In order: words that stand
// alone, and words that need another beside them.
var warWords = [2]string{
	`wwi wwii ww wk wki wkii wo woi woii vk weltkrieg weltkriegs weltkrieges wereldoorlog verdenskrig verdenskrigen varldskrig varldskriget`,
	`world war wars krieg krieges guerre krig kriget krigen oorlog`,
}
