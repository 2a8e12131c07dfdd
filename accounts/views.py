"""At the door: coming in, going out, and one's own page."""

from typing import cast
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from accounts import actions
from accounts.forms import (
    AboutMeForm,
    ChoosePasswordForm,
    LinkForm,
    PasswordSignInForm,
    time_zones,
)
from accounts.models import Person, SignInLink
from accounts.queries import DEVICE, is_own_device, way_in
from accounts.rules import WayInClosed

ON_A_NEW_DEVICE = (
    "A link from a mail lets its owner in once, on a device used before. Give your mail "
    "address: a fresh link comes to it at once and opens what the mail spoke of."
)
BACKEND = "django.contrib.auth.backends.ModelBackend"


@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Ask for a mailed link, or come in by password."""
    then = _then(request)
    if request.user.is_authenticated:
        return redirect(then or "desk:desk")
    by_password = request.POST.get("way") == "password"
    link = LinkForm(request.POST if request.POST and not by_password else None)
    door = PasswordSignInForm(request.POST if by_password else None)
    if by_password and door.is_valid():
        person = actions.check_password(**door.cleaned_data, place=_place(request))
        if person:
            return _let_in(request, person, then)
        door.add_error(
            "password",
            "Address and password do not fit together. Try again, or have a link "
            "mailed to you.",
        )
    elif link.is_bound and link.is_valid():
        actions.mail_way_in(**link.cleaned_data, place=_place(request), then=then)
        return redirect("accounts:sent")
    page = {"link": link, "door": door, "then": then}
    wrong = 422 if link.errors or door.errors else 200
    return render(request, "accounts/sign_in.html", page, status=wrong)


@require_GET
def sent(request: HttpRequest) -> HttpResponse:
    """The same words whether the address is known or not."""
    return render(request, "accounts/sent.html")


@never_cache
@require_http_methods(["GET", "POST"])
def come_in(request: HttpRequest, token: str) -> HttpResponse:
    """Show whose link it is; only the button uses it up, so mail scanners do not."""
    then = _then(request)
    link = way_in(token)
    if then and request.user.is_authenticated:
        return redirect(then)  # already in: the page itself says whether it is theirs
    if then and _is_no_use(link, request):
        messages.info(request, ON_A_NEW_DEVICE)
        return redirect(f"{reverse('accounts:sign-in')}?{urlencode({'next': then})}")
    if link is None or _is_no_use(link, request):
        raise WayInClosed
    if request.method == "POST":
        return _let_in(request, actions.use_way_in(token), then)
    page = {"person": link.person, "then": then}
    return render(request, "accounts/come_in.html", page)


def _is_no_use(link: SignInLink | None, request: HttpRequest) -> bool:
    """Whether the link lets nobody in here: used up, or bound to other devices."""
    if link is None:
        return True
    mark = request.COOKIES.get(DEVICE, "")
    return link.bound and not is_own_device(mark, link.person)


def _let_in(request: HttpRequest, person: Person, then: str) -> HttpResponse:
    login(request, person, backend=BACKEND)
    answer = redirect(then or "desk:desk")
    actions.remember_device(answer, person)
    return answer


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Leave; the browser drops the pictures it kept (W3C Clear Site Data)."""
    logout(request)
    messages.success(request, "You are signed out.")
    answer = redirect("accounts:sign-in")
    # Not "storage": words that wait to be sent stay until their writer is back.
    answer["Clear-Site-Data"] = '"cache"'
    answer.delete_cookie(DEVICE)
    return answer


@never_cache
@login_required
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def me(request: HttpRequest) -> HttpResponse:
    """One's own page: name, initials, clock, password."""
    # a fresh row: a form that fails must not rename the person in the header
    person = Person.objects.get(pk=cast("Person", request.user).pk)
    about = AboutMeForm(_if_sent(request, "about"), instance=person)
    secret = ChoosePasswordForm(_if_sent(request, "secret"), person=person)
    if about.is_bound and about.is_valid():
        actions.tell_about_self(person, **about.cleaned_data)
        messages.success(request, "Kept.")
        return redirect("accounts:me")
    if secret.is_bound and secret.is_valid():
        actions.choose_password(person, secret.cleaned_data["password"])
        update_session_auth_hash(request, person)
        messages.success(
            request, "Your new password is set; other places are signed out."
        )
        return redirect("accounts:me")
    page = {"about": about, "secret": secret, "zones": time_zones(), "person": person}
    wrong = 422 if about.errors or secret.errors else 200
    return render(request, "accounts/me.html", page, status=wrong)


def _if_sent(request: HttpRequest, part: str) -> QueryDict | None:
    return request.POST if part in request.POST else None


def _place(request: HttpRequest) -> str:
    return str(request.META.get("REMOTE_ADDR", ""))


def _then(request: HttpRequest) -> str:
    """Where to go afterwards, if that is a page of this board."""
    then = request.POST.get("next") or request.GET.get("next") or ""
    fine = url_has_allowed_host_and_scheme(
        then, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    inward = then.startswith(reverse("accounts:sign-in"))
    return then if fine and not inward else ""
