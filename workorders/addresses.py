"""Addresses of the workorders app."""

from django.urls import path

from workorders.views import claims, desk

app_name = "workorders"
urlpatterns = [
    path("", desk.home, name="home"),
    path("claims/", claims.claim_list, name="claims"),
    path("claims/<str:number>/", claims.claim_page, name="claim"),
    path("claims/<str:number>/add/", claims.claim_add, name="claim_add"),
    path("claims/<str:number>/judge/", claims.claim_judge, name="claim_judge"),
    path("claims/<str:number>/receive/", claims.claim_receive, name="claim_receive"),
    path("find/", desk.find, name="find"),
    path("u/<str:serial>", desk.unit, name="unit"),
    path("U/<str:serial>", desk.unit, name="unit_scanned"),
    path("u/<str:serial>/record.json", desk.unit_json, name="unit_json"),
    path("warranties/<int:pk>/claim/", claims.claim_open, name="claim_open"),
]
