"""Addresses of the inventory app."""

from django.urls import path

from inventory.views import kits, lots, packed_kits, parts

app_name = "inventory"
urlpatterns = [
    path("found-in-bin/", lots.found_in_bin, name="found_in_bin"),
    path("found-in-bin/<int:pk>/", lots.found_settle, name="found_settle"),
    path("kits/", kits.kits, name="kits"),
    path("kits/<int:pk>/", kits.kit, name="kit"),
    path("kits/<int:pk>/lines/<int:line_pk>/", kits.kit_line_change, name="kit_line_change"),
    path("kits/<int:pk>/lines/<int:line_pk>/remove/", kits.kit_line_remove, name="kit_line_remove"),
    path("kits/<int:pk>/lines/new/", kits.kit_line_new, name="kit_line_new"),
    path("kits/<int:pk>/pack/", kits.kit_pack, name="kit_pack"),
    path("kits/of-revision/<int:revision_pk>/", kits.kit_make, name="kit_make"),
    path("kits/packed/", packed_kits.packed_kits, name="packed_kits"),
    path("kits/packed/<str:code>/", packed_kits.packed_kit, name="packed_kit"),
    path(
        "kits/packed/<str:code>/label/<str:stock>/<int:dpi>/",
        packed_kits.packed_kit_label,
        name="packed_kit_label",
    ),
    path("kits/packed/<str:code>/unpack/", packed_kits.packed_kit_unpack, name="packed_kit_unpack"),
    path("lots/", lots.lots, name="lots"),
    path("lots/<str:number>/", lots.lot, name="lot"),
    path("lots/<str:number>/accept/", lots.lot_accept, name="lot_accept"),
    path("lots/<str:number>/count/", lots.lot_count, name="lot_count"),
    path("lots/<str:number>/hold/", lots.lot_hold, name="lot_hold"),
    path("lots/<str:number>/move/", lots.lot_move, name="lot_move"),
    path("lots/<str:number>/scrap/", lots.lot_scrap, name="lot_scrap"),
    path("parts/", parts.parts, name="parts"),
    path("parts/<int:pk>/", parts.part, name="part"),
    path("parts/<int:pk>/change/", parts.part_change, name="part_change"),
    path("parts/new/", parts.part_new, name="part_new"),
    path("parts/suppliers/", parts.suppliers, name="suppliers"),
    path("parts/suppliers/<int:pk>/", parts.supplier_change, name="supplier_change"),
    path("parts/suppliers/new/", parts.supplier_new, name="supplier_new"),
    path("receive-lot/", lots.lot_receive, name="lot_receive"),
]
