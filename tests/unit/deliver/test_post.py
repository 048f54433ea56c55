"""Letters against a real server on the loopback address: each ends as taken, refused or open."""

import email
import email.policy
from dataclasses import replace

import pytest

from pipeline.base.errors import Exit
from pipeline.config.mail import Secret
from pipeline.deliver.folder import FolderDoor


def read(data: bytes):
    return email.message_from_bytes(data, policy=email.policy.default)


def ids(postmaster) -> list[str]:
    return [read(data)["Message-ID"] for _, data in postmaster.taken]


def test_a_letter_is_taken_over_tls_with_a_password_and_the_second_run_sends_nothing(
    serve, postmaster, write, post, make_readers, states
):
    mail = serve()
    (key,) = write(mail, make_readers())
    told, _ = post(mail)
    assert (told.sent, told.exit_code) == (1, Exit.DONE)
    assert states() == {"reader-0": ("sent", 1, False, "250 OK")}
    assert ids(postmaster) == [f"<2026-10.{key}@saltmarsh.example>"]
    write(mail, make_readers())
    again, _ = post(mail)
    assert (again.sent, again.left, len(postmaster.taken)) == (0, 0, 1)


def test_what_arrives_is_what_lies_in_the_outbox(serve, postmaster, write, post, tmp_path,
                                                 make_readers):  # fmt: skip
    mail = serve()
    (key,) = write(mail, make_readers())
    data = (tmp_path / "outbox" / f"{key}.eml").read_bytes()
    post(mail)
    assert postmaster.taken[0][1] == data
    text = read(postmaster.taken[0][1]).get_body(("plain",)).get_content()
    assert ".a line that begins with a dot" in text.splitlines()


def test_a_reader_who_is_put_off_is_tried_again_after_the_others(
    serve, postmaster, write, post, make_readers, states
):
    mail = serve()
    write(mail, make_readers(2))
    postmaster.reader_answers["reader-0@saltmarsh.example"] = ["451 not now", "450 not yet"]
    told, pauses = post(mail)
    assert (told.sent, told.exit_code, pauses) == (2, Exit.DONE, [2, 8])
    assert postmaster.addresses()[-1] == "reader-0@saltmarsh.example"
    assert states()["reader-0"] == ("sent", 3, False, "250 OK")


def test_a_reader_who_is_put_off_each_time_is_left_for_the_next_run(
    serve, postmaster, write, post, make_readers, states
):
    mail = serve()
    write(mail, make_readers())
    postmaster.letter_answers = ["452 no room"] * 3
    told, _ = post(mail)
    assert (told.left, told.exit_code) == (1, Exit.LETTERS_LEFT)
    assert states()["reader-0"] == ("ready", 3, False, "452 no room")
    assert post(mail)[0].sent == 1


def test_a_reader_who_is_refused_stops_nobody_and_is_not_tried_again(
    serve, postmaster, write, post, make_readers, states
):
    mail = serve()
    write(mail, make_readers(3))
    postmaster.reader_answers["reader-1@saltmarsh.example"] = ["550 no such reader"]
    told, _ = post(mail)
    assert (told.sent, told.refused, told.exit_code) == (2, 1, Exit.LETTERS_LEFT)
    assert states()["reader-1"] == ("refused", 1, False, "550 no such reader")
    assert post(mail)[0].sent == 0 and len(postmaster.taken) == 2


def test_a_wrong_password_stops_every_letter_is_told_and_not_tried_again(
    serve, postmaster, write, post, make_readers, states, caplog
):
    mail = serve()
    write(mail, make_readers(2))
    told, pauses = post(mail, password="wrong-battery")
    assert (told.sent, told.left, told.exit_code, pauses) == (0, 2, Exit.LETTERS_LEFT, [])
    assert "the user or the password of [mail] was not taken (535)" in told.closed
    assert states()["reader-0"][:3] == ("ready", 0, False)
    assert "wrong-battery" not in told.closed + caplog.text + str(states())


def test_an_unknown_certificate_is_not_spoken_to(serve, postmaster, write, post, make_readers):
    mail = replace(serve(), ca_file=None)
    write(mail, make_readers())
    told, pauses = post(mail)
    assert (told.left, pauses) == (1, [])
    assert "self-signed certificate" in told.closed and "name its authority" in told.closed


def test_a_certificate_for_another_name_is_not_spoken_to(serve, write, post, make_readers):
    mail = replace(serve(), host="localhost")
    write(mail, make_readers())
    told, _ = post(mail)
    assert told.left == 1 and "is not to be trusted" in told.closed


def test_a_server_without_tls_gets_neither_password_nor_letter(
    serve, postmaster, write, post, make_readers
):
    mail = replace(
        serve(security="none", login=False),
        security="starttls", user="reports", password=Secret(env="SMTP_PASSWORD"),
    )  # fmt: skip
    write(mail, make_readers())
    told, _ = post(mail)
    assert told.left == 1 and "STARTTLS" in told.closed
    assert postmaster.taken == []


def test_a_server_that_refuses_plain_speech_is_told_as_such(serve, write, post, make_readers):
    mail = replace(serve(), security="none", user="", password=Secret())
    write(mail, make_readers())
    told, _ = post(mail)
    assert told.left == 1 and "lets nobody in who has not logged in (530" in told.closed


def test_a_connection_cut_before_the_letter_leaves_no_doubt(
    serve, postmaster, write, post, make_readers, states
):
    mail = serve()
    (key,) = write(mail, make_readers())
    postmaster.cut_before_data = 1
    told, _ = post(mail)
    assert (told.sent, told.doubtful) == (1, 0)
    assert states()["reader-0"][:3] == ("sent", 2, False)
    assert len(postmaster.taken) == 1


def test_a_connection_cut_after_the_letter_is_sent_again_under_its_id_and_told(
    serve, postmaster, write, post, make_readers, states, caplog
):
    mail = serve()
    (key,) = write(mail, make_readers())
    postmaster.cut_after_data = 1
    told, _ = post(mail)
    assert (told.sent, told.doubtful, told.exit_code) == (1, 1, Exit.DONE)
    assert states()["reader-0"][:3] == ("sent", 2, True)
    first, second = postmaster.taken
    assert first == second
    assert f"{key}: sent again as <2026-10.{key}@saltmarsh.example>" in caplog.text
    assert "may have it twice" in caplog.text


def test_a_server_that_does_not_answer_in_time_is_doubted(
    serve, postmaster, write, post, make_readers, states
):
    mail = replace(serve(), timeout_seconds=1, pauses_seconds=())
    write(mail, make_readers())
    postmaster.is_slow = True
    told, _ = post(mail)
    assert (told.left, told.doubtful) == (1, 1)
    assert states()["reader-0"][0] == "sending"
    assert "timed out" in states()["reader-0"][3]


def test_a_server_that_is_away_is_tried_after_each_pause_and_no_letter_is_doubted(
    serve, write, post, make_readers, states
):
    mail = replace(serve(), port=1)
    write(mail, make_readers(2))
    told, pauses = post(mail)
    assert (told.left, pauses, told.exit_code) == (2, [2, 8], Exit.LETTERS_LEFT)
    assert "cannot be used now (ConnectionRefusedError" in told.closed
    assert states()["reader-0"][:3] == ("ready", 0, False)


def test_500_readers_get_one_letter_each(serve, postmaster, write, post, make_readers):
    mail = serve()
    write(mail, make_readers(500))
    told, _ = post(mail)
    assert told.sent == 500
    assert len(set(postmaster.addresses())) == len(set(ids(postmaster))) == 500
    assert post(mail)[0].sent == 0


def test_who_may_not_have_letters_now_keeps_them_in_the_outbox(
    serve, postmaster, write, post, make_readers
):
    mail = serve()
    write(mail, make_readers(2))
    told, _ = post(mail, may_go=lambda row: not row.recipient.startswith("reader-0"))
    assert (told.sent, told.held, told.exit_code) == (1, 1, Exit.DONE)
    assert postmaster.addresses() == ["reader-1@saltmarsh.example"]
    assert post(mail)[0].sent == 1


def test_letters_may_be_written_to_a_folder_instead(serve, write, post, make_readers, tmp_path):
    mail = serve()
    (key,) = write(mail, make_readers())
    data = (tmp_path / "outbox" / f"{key}.eml").read_bytes()
    told, _ = post(mail, door=FolderDoor(tmp_path / "letters"))
    assert told.sent == 1
    assert (tmp_path / "letters" / f"{key}.eml").read_bytes() == data


def test_the_outbox_keeps_what_is_open_and_forgets_what_has_left(
    serve, postmaster, write, post, make_readers, tmp_path
):
    mail = serve()
    first, second = write(mail, make_readers(2))
    postmaster.reader_answers["reader-1@saltmarsh.example"] = ["451 not now"] * 3
    post(mail)
    assert [path.name for path in (tmp_path / "outbox").iterdir()] == [f"{second}.eml"]
    post(mail)
    assert list((tmp_path / "outbox").iterdir()) == []


def test_a_letter_whose_bytes_are_gone_is_owned_up_to_and_stops_nobody(
    serve, postmaster, write, post, make_readers, tmp_path, states
):
    mail = serve()
    first, _ = write(mail, make_readers(2))
    (tmp_path / "outbox" / f"{first}.eml").unlink()
    told, _ = post(mail)
    assert (told.sent, told.refused, told.exit_code) == (1, 1, Exit.LETTERS_LEFT)
    assert states()["reader-0"][3] == "its bytes are gone from the outbox"


@pytest.mark.parametrize("security", ["starttls", "none"])
def test_a_server_without_a_login_is_enough_on_this_machine(
    serve, postmaster, write, post, make_readers, security
):
    mail = serve(security=security, login=False)
    write(mail, make_readers())
    assert post(mail)[0].sent == 1
