"""Addresses of the workorders app."""

from django.urls import path

from workorders.views import claims, desk, instruments, releasing, shipping

app_name = "workorders"
urlpatterns = [
    path("", desk.home, name="home"),
    path("claims/", claims.claim_list, name="claims"),
    path("claims/<str:number>/", claims.claim_page, name="claim"),
    path("claims/<str:number>/add/", claims.claim_add, name="claim_add"),
    path("claims/<str:number>/judge/", claims.claim_judge, name="claim_judge"),
    path("claims/<str:number>/receive/", claims.claim_receive, name="claim_receive"),
    path("find/", desk.find, name="find"),
    path("instruments/", instruments.instrument_list, name="instruments"),
    path("instruments/<int:pk>/", instruments.instrument, name="instrument"),
    path("instruments/<int:pk>/calibrate/", instruments.calibration_new, name="calibration_new"),
    path("instruments/<int:pk>/change/", instruments.instrument_change, name="instrument_change"),
    path("instruments/calibrations/<int:pk>/", instruments.calibration_change, name="calibration_change"),
    path("instruments/new/", instruments.instrument_new, name="instrument_new"),
    path("parcels/<int:pk>/tracking/", shipping.tracking, name="tracking"),
    path("rebuilds/<int:pk>/as-found.pdf", releasing.as_found, name="as_found"),
    path("rebuilds/<int:pk>/exit/", releasing.side_exit, name="side_exit"),
    path("rebuilds/<int:pk>/release/", releasing.release_rebuild, name="release_rebuild"),
    path("releases/<str:number>/", releasing.release, name="release"),
    path("releases/<str:number>/reissue/", releasing.reissue, name="reissue"),
    path("shipments/", shipping.shipments, name="shipments"),
    path("shipments/<str:number>/", shipping.shipment, name="shipment"),
    path("u/<str:serial>", desk.unit, name="unit"),
    path("U/<str:serial>", desk.unit, name="unit_scanned"),
    path("u/<str:serial>/record.json", desk.unit_json, name="unit_json"),
    path("work-orders/<str:number>/ship/", shipping.ship, name="ship"),
    path("warranties/<int:pk>/claim/", claims.claim_open, name="claim_open"),
]
