"""Words of languages whose drawings the other tests do not hold: rooms and layers. Ordinary dictionary words and the
habits of drawing offices in each language, common practice."""

from __future__ import annotations

import pytest

from takeoff.plan._room_words import room_name
from takeoff.plan.layers import role_of

KINDS = (
    "room", "room", "kitchen", "wet room", "wet room", "hall", "hall", "stair", "store", "store", "garage", "plant",
    "shaft", "outdoor", "outdoor",
)
"""Living room, bedroom, kitchen, bath, toilet, hall, corridor, stair, store, wardrobe, garage, plant, lift, balcony and
terrace, in this order."""
ROOMS = {
    "Russian": "Гостиная, Спальня, КУХНЯ, Ванная, Туалет, Прихожая, Коридор, Лестница, Кладовая, Гардеробная, Гараж, "
    "Котельная, Лифт, Балкон, Терраса",
    "Ukrainian": "Вітальня, Спальня, Кухня, Ванна, Туалет, Передпокій, Коридор, Сходи, Комора, Гардеробна, Гараж, "
    "Котельня, Ліфт, Балкон, Тераса",
    "Greek": "Καθιστικό, Υπνοδωμάτιο, ΚΟΥΖΙΝΑ, Λουτρό, Τουαλέτα, Χωλ, Διάδρομος, Κλιμακοστάσιο, Αποθήκη, Ντουλάπα, "
    "Γκαράζ, Λεβητοστάσιο, Ανελκυστήρας, Μπαλκόνι, Βεράντα",
    "Korean": "거실, 침실1, 주방, 욕실, 화장실, 현관, 복도, 계단실, 창고, 드레스룸, 차고, 보일러실, 엘리베이터, "
    "발코니, 테라스",
    "Japanese": "居間, 寝室, 台所, 浴室, トイレ, 玄関, 廊下, 階段, 納戸, クローゼット, 車庫, 機械室, エレベーター, "
    "バルコニー, テラス",
    "Czech": "Obývací pokoj, Ložnice, KUCHYNĚ, Koupelna, Záchod, Předsíň, Chodba, Schodiště, Komora, Šatna, Garáž, "
    "Technická místnost, Výtah, Balkón, Terasa",
    "Slovak": "Obývacia izba, Spálňa, KUCHYŇA, Kúpeľňa, Záchod, Predsieň, Chodba, Schodisko, Komora, Šatník, Garáž, "
    "Technická miestnosť, Výťah, Balkón, Terasa",
    "Hungarian": "Nappali, Hálószoba, Konyha, Fürdőszoba, WC, Előszoba, Folyosó, Lépcsőház, Kamra, Gardrób, Garázs, "
    "Kazánház, Felvonó, Erkély, Terasz",
    "Romanian": "Cameră de zi, Dormitor, Bucătărie, Baie, Toaletă, Hol, Coridor, Casa scării, Cămară, Dressing, Garaj, "
    "Centrală termică, Lift, Balcon, Terasă",
    "Turkish": "Oturma Odası, YATAK ODASI, Mutfak, Banyo, Tuvalet, Antre, Koridor, Merdiven, Kiler, Giyinme Odası, "
    "Garaj, Kazan Dairesi, Asansör, Balkon, Teras",
    "Swedish": "Vardagsrum, Sovrum, Kök, Badrum, Toalett, Hall, Korridor, Trapphus, Förråd, Klädkammare, Garage, "
    "Pannrum, Hiss, Balkong, Uteplats",
    "Norwegian": "Stue, Soverom, Kjøkken, Baderom, Toalett, Gang, Korridor, Trapperom, Bod, Garderobe, Garasje, "
    "Teknisk rom, Heis, Balkong, Terrasse",
    "Finnish": "Olohuone, Makuuhuone, Keittiö, Kylpyhuone, WC, Eteinen, Käytävä, Porrashuone, Varasto, Vaatehuone, "
    "Autotalli, Tekninen tila, Hissi, Parveke, Terassi",
    "Croatian": "Dnevni boravak, Spavaća soba, Kuhinja, Kupaonica, Zahod, Predsoblje, Hodnik, Stubište, Ostava, "
    "Garderoba, Garaža, Kotlovnica, Dizalo, Balkon, Terasa",
    "Hebrew": "סלון, חדר שינה, מטבח, חדר רחצה, שירותים, כניסה, מסדרון, מדרגות, מחסן, חדר ארונות, מוסך, חדר מכונות, "
    "מעלית, מרפסת, גינה",
    "Arabic in Latin letters": "Majlis, Ghurfat nawm, Matbakh, Hammam, Dawrat miyah, Madkhal, Mamar, Daraj, Makhzan, "
    "Khizana, Karaj, Ghurfat kahraba, Misaad, Shurfa, Hadiqa",
    "Vietnamese": "Phòng khách, Phòng ngủ, Bếp, Phòng tắm, Nhà vệ sinh, Sảnh, Hành lang, Cầu thang, Kho, "
    "Phòng thay đồ, Gara, Phòng kỹ thuật, Thang máy, Ban công, Sân thượng",
    "French": "GARÇONNIÈRE, Suite parentale, Arrière-cuisine, Salle de douche, Cabinet de toilette, Hall d'entrée, "
    "Circ., Escaliers, Cagibi, Local ménage, Stationnement, Local chaufferie, Gaine ascenseur, Coursive, Préau",
}


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        pytest.param(text, kind, id=f"{language}: {text}")
        for language, names in ROOMS.items()
        for text, kind in zip(names.split(", "), KINDS, strict=True)
    ],
)
def test_rooms(text: str, kind: str) -> None:
    found = room_name(text)
    assert found is not None
    assert found.kind == kind


ROLES = ("wall", "door", "window", "furniture", "stairs", "dimension")
LAYERS = {
    "Russian": "АР_Стены, Двери, Окна, Мебель, Лестницы, Размеры",
    "Ukrainian": "Стіни, Двері, Вікна, Меблі, Сходи, Розміри",
    "Greek": "ΤΟΙΧΟΙ, Πόρτες, Παράθυρα, Έπιπλα, Σκάλες, Διαστάσεις",
    "Korean": "A-벽체, 문, 창문, 가구, 계단, 치수",
    "Czech": "Zdivo nosné, Dveře, Okna, Nábytek, Schodiště, Kóty",
    "Slovak": "Priečky, Dvere, Okná, Nábytok, Schodisko, Kóty",
    "Hungarian": "Falak, Ajtók, Ablakok, Bútor, Lépcső, Méretek",
    "Romanian": "Pereți, Uși, Ferestre, Mobilier, Scări, Cotare",
    "Turkish": "DUVAR, KAPI, PENCERE, TEFRİŞ, MERDİVEN, ÖLÇÜ",
    "Swedish": "Innerväggar, Dörrar, Fönster, Möbler, Trappor, Måttsättning",
    "Norwegian": "Vegger, Dører, Vinduer, Innredning, Trapper, Målsetting",
    "Finnish": "Väliseinät, Ovet, Ikkunat, Kalusteet, Portaat, Mitoitus",
    "Croatian": "Zidovi, Vrata, Prozori, Namještaj, Stubište, Kote",
    "Hebrew": "קירות, דלתות, חלונות, ריהוט, מדרגות, מידות",
}


@pytest.mark.parametrize(
    ("name", "role"),
    [
        pytest.param(name, role, id=f"{language}: {name}")
        for language, names in LAYERS.items()
        for name, role in zip(names.split(", "), ROLES, strict=True)
    ],
)
def test_layers(name: str, role: str) -> None:
    assert role_of(name).name == role


@pytest.mark.parametrize("text", ["PIPE", "carpentry", "CABINET", "apricot", "VAR", "SKALA 1:50", "basta", "conduit"])
def test_words_that_only_look_like_those_of_another_language_name_no_room(text: str) -> None:
    assert room_name(text) is None


@pytest.mark.parametrize("name", ["USA", "Limitations", "Bracket", "Alaprajz", "CAM", "Standard", "Premises"])
def test_layer_names_that_only_look_like_words_say_nothing(name: str) -> None:
    assert role_of(name).name == "unknown"
