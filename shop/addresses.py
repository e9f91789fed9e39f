"""Addresses of the shop app."""

from django.urls import path

from shop.views import (
    applications,
    catalogue,
    customers,
    files,
    imports,
    people,
    profile,
    sign_in,
    sums,
    test_plans,
)

app_name = "shop"
urlpatterns = [
    path("customers/", customers.customers, name="customers"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/change/", customers.customer_change, name="customer_change"),
    path("customers/new/", customers.customer_new, name="customer_new"),
    path("files/<int:pk>/", files.file, name="file"),
    path("imports/", imports.import_list, name="imports"),
    path("imports/<int:pk>/", imports.import_page, name="import"),
    path("imports/<int:pk>/undo/", imports.import_undo, name="import_undo"),
    path("imports/<slug:kind>/", imports.import_new, name="import_new"),
    path("imports/<slug:kind>/<int:pk>/", imports.import_check, name="import_check"),
    path("imports/<slug:kind>/template.<slug:form>", imports.import_template, name="import_template"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/password/", people.person_password, name="person_password"),
    path("people/new/", people.person_new, name="person_new"),
    path("shop/", profile.settings, name="settings"),
    path("shop/change/", profile.settings_change, name="settings_change"),
    path("shop/limits/<slug:key>/", profile.limit_change, name="limit_change"),
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("sums/", sums.sums, name="sums"),
    path("sums/<slug:name>/", sums.sum_page, name="sum"),
    path("unit-types/", catalogue.unit_types, name="unit_types"),
    path("unit-types/<int:pk>/", catalogue.unit_type, name="unit_type"),
    path("unit-types/<int:pk>/change/", catalogue.unit_type_change, name="unit_type_change"),
    path("unit-types/<int:pk>/draft/", catalogue.revision_draft, name="revision_draft"),
    path("unit-types/applications/", applications.applications, name="applications"),
    path("unit-types/applications/<int:pk>/", applications.application, name="application"),
    path(
        "unit-types/applications/<int:pk>/change/", applications.application_edit, name="application_change"
    ),
    path(
        "unit-types/applications/<int:pk>/places/<int:place_pk>/",
        applications.mounting_place_edit,
        name="mounting_place_change",
    ),
    path(
        "unit-types/applications/<int:pk>/places/<int:place_pk>/remove/",
        applications.mounting_place_remove,
        name="mounting_place_remove",
    ),
    path(
        "unit-types/applications/<int:pk>/places/new/",
        applications.mounting_place_edit,
        name="mounting_place_new",
    ),
    path("unit-types/applications/new/", applications.application_edit, name="application_new"),
    path("unit-types/fluids/", applications.fluids, name="fluids"),
    path("unit-types/fluids/<int:pk>/", applications.fluid_edit, name="fluid_change"),
    path("unit-types/fluids/new/", applications.fluid_edit, name="fluid_new"),
    path("unit-types/new/", catalogue.unit_type_new, name="unit_type_new"),
    path("unit-types/plans/<int:pk>/", test_plans.test_plan, name="test_plan"),
    path("unit-types/plans/<int:pk>/approve/", test_plans.plan_approve, name="plan_approve"),
    path("unit-types/plans/<int:pk>/change/", test_plans.plan_change, name="plan_change"),
    path("unit-types/plans/<int:pk>/steps/<int:step_pk>/", test_plans.step_edit, name="step_change"),
    path("unit-types/plans/<int:pk>/steps/<int:step_pk>/remove/", test_plans.step_remove, name="step_remove"),
    path("unit-types/plans/<int:pk>/steps/new/", test_plans.step_edit, name="step_new"),
    path(
        "unit-types/revisions/<int:pk>/<slug:kind>/<int:place_pk>/", catalogue.place_edit, name="place_change"
    ),
    path(
        "unit-types/revisions/<int:pk>/<slug:kind>/<int:place_pk>/remove/",
        catalogue.place_remove,
        name="place_remove",
    ),
    path("unit-types/revisions/<int:pk>/<slug:kind>/new/", catalogue.place_edit, name="place_new"),
    path("unit-types/revisions/<int:pk>/approve/", catalogue.revision_approve, name="revision_approve"),
    path("unit-types/revisions/<int:pk>/change/", catalogue.revision_change, name="revision_change"),
    path("unit-types/revisions/<int:pk>/plan/", test_plans.plan_draft, name="plan_draft"),
]
