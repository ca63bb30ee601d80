"""The cautions that go wherever somebody is sent to a shore: reports, search sheets, replies.

Common practice at the waterside, written down by us; no single published source. Local rules
always come first.
"""

from __future__ import annotations

ENGLISH = (
    "Never go alone; tell somebody where you are and when you will be back.",
    "Keep out of the water unless you know its depth, bottom and current: mud, undercut banks and "
    "cold shock are real, and a river can rise within minutes after rain or below a dam.",
    "Watch the weather: leave before lightning, and in heat take water, shade and a hat.",
    "Check for ticks afterwards, and protect yourself from the sun. Cover cuts, and wash your "
    "hands before eating: water may carry germs or poisonous algae.",
    "Ask the landowner's permission, and keep away from livestock and from steep or crumbling "
    "banks.",
    "Reserves and protected species: taking anything, even a cast skin, may need a permit. "
    "Without one, look, photograph and leave it.",
    "Do not trample the reeds where dragonflies emerge in the morning, and never touch one whose "
    "wings still shine: they are not yet dry.",
    "Check, clean and dry boots and nets between waters, so that you carry no disease or plant "
    "from one to the next.",
    "Children need an adult beside them at the water's edge.",
    "Local rules, the landowner's and the reserve's word, and your own judgement on the day come "
    "before anything written here.",
)

GERMAN = (
    "Gehen Sie nie allein; sagen Sie jemandem, wo Sie sind und wann Sie zurückkommen.",
    "Bleiben Sie aus dem Wasser, wenn Sie Tiefe, Grund und Strömung nicht kennen: Schlamm, "
    "unterspülte Ufer und Kälteschock sind echt, und ein Fluss kann nach Regen oder unterhalb "
    "eines Wehrs in Minuten steigen.",
    "Achten Sie auf das Wetter: Gehen Sie vor dem Gewitter; bei Hitze Wasser, Schatten und Hut.",
    "Suchen Sie sich danach nach Zecken ab, und schützen Sie sich vor der Sonne. Decken Sie Wunden "
    "ab, und waschen Sie vor dem Essen die Hände: Wasser kann Keime oder giftige Algen führen.",
    "Fragen Sie die Eigentümer um Erlaubnis; halten Sie Abstand von Weidevieh und von steilen oder "
    "brüchigen Ufern.",
    "Schutzgebiete und geschützte Arten: Wer etwas mitnimmt, auch nur eine leere Haut, braucht "
    "vielleicht eine Genehmigung. Ohne sie: ansehen, fotografieren, liegen lassen.",
    "Zertreten Sie nicht das Röhricht, in dem morgens Libellen schlüpfen, und fassen Sie nie eine "
    "an, deren Flügel noch glänzen: Sie sind nicht trocken.",
    "Prüfen, reinigen und trocknen Sie Stiefel und Kescher zwischen zwei Gewässern, damit Sie "
    "weder Krankheit noch Pflanze verschleppen.",
    "Kinder brauchen am Ufer einen Erwachsenen neben sich.",
    "Örtliche Regeln, das Wort der Eigentümer und des Schutzgebiets und Ihr eigenes Urteil vor Ort "
    "gehen allem vor, was hier steht.",
)

POLISH = (
    "Nigdy nie chodź w pojedynkę; powiedz komuś, gdzie jesteś i kiedy wrócisz.",
    "Nie wchodź do wody, jeśli nie znasz głębokości, dna i prądu: muł, podmyte brzegi i szok "
    "termiczny są prawdziwe, a rzeka po deszczu lub poniżej zapory może wezbrać w kilka minut.",
    "Uważaj na pogodę: odejdź przed burzą; w upale miej wodę, cień i nakrycie głowy.",
    "Sprawdź potem, czy nie masz kleszczy, i chroń się przed słońcem. Osłoń skaleczenia i umyj "
    "ręce przed jedzeniem: woda może zawierać zarazki lub trujące sinice.",
    "Poproś właściciela o zgodę; trzymaj się z dala od bydła i od stromych lub osuwających się "
    "brzegów.",
    "Rezerwaty i gatunki chronione: zabranie czegokolwiek, nawet pustej wylinki, może wymagać "
    "zezwolenia. Bez niego oglądaj, fotografuj i zostaw.",
    "Nie depcz trzcin, w których rano przeobrażają się ważki, i nigdy nie dotykaj ważki o jeszcze "
    "lśniących skrzydłach: nie są suche.",
    "Sprawdzaj, czyść i susz buty i siatki między zbiornikami, by nie przenosić chorób ani roślin.",
    "Dzieci potrzebują przy brzegu dorosłego obok siebie.",
    "Miejscowe przepisy, słowo właściciela i rezerwatu oraz własny osąd na miejscu są ważniejsze "
    "niż wszystko, co tu napisano.",
)

FRENCH = (
    "Ne partez jamais seul ; dites à quelqu'un où vous êtes et quand vous rentrerez.",
    "N'entrez pas dans une eau dont vous ne connaissez ni la profondeur, ni le fond, ni le "
    "courant : la vase, les berges creusées et le choc du froid sont réels, et une rivière peut "
    "monter en quelques minutes après la pluie ou en aval d'un barrage.",
    "Surveillez le temps : partez avant l'orage ; par chaleur, de l'eau, de l'ombre et un chapeau.",
    "Cherchez ensuite les tiques, et protégez-vous du soleil. Couvrez les plaies et lavez-vous les "
    "mains avant de manger : l'eau peut porter des germes ou des algues toxiques.",
    "Demandez la permission du propriétaire ; tenez-vous loin du bétail et des berges raides ou "
    "qui s'effritent.",
    "Réserves et espèces protégées : emporter quoi que ce soit, même une mue vide, peut exiger une "
    "autorisation. Sans elle, regardez, photographiez et laissez.",
    "Ne piétinez pas les roseaux où les libellules émergent le matin, et n'en touchez jamais une "
    "dont les ailes brillent encore : elles ne sont pas sèches.",
    "Vérifiez, nettoyez et séchez bottes et filets entre deux eaux, pour ne transporter ni maladie "
    "ni plante.",
    "Les enfants ont besoin d'un adulte à côté d'eux au bord de l'eau.",
    "Les règles locales, la parole du propriétaire et de la réserve et votre propre jugement sur "
    "place passent avant tout ce qui est écrit ici.",
)

LANGUAGES = {"en": ENGLISH, "de": GERMAN, "pl": POLISH, "fr": FRENCH}


def cautions(language: str = "en") -> tuple[str, ...]:
    """All lines, in the order in which they should be read; the last defers to local rules.

    A language that is not there gives English: no cautions at all would be worse.
    """
    return LANGUAGES.get(language.partition("-")[0].lower(), ENGLISH)
