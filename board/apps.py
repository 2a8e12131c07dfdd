from django.apps import AppConfig


class BoardConfig(AppConfig):
    name = "board"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Let rooms hear what the record enters; a lower room knows no upper one."""
        from django.contrib.auth.signals import user_logged_out  # noqa: PLC0415

        from board.checks.actions import (  # noqa: PLC0415  # apps come first
            after_entry,
            when_over,
        )
        from board.checks.queries.terms import holds_profile  # noqa: PLC0415
        from board.clippings.actions.searching import (  # noqa: PLC0415
            after_entry as search_after_entry,
        )
        from board.clippings.queries import holds_original  # noqa: PLC0415
        from board.daybook.actions import listen  # noqa: PLC0415  # apps come first
        from board.light_table.actions import after_laid  # noqa: PLC0415
        from board.repro.store import hold  # noqa: PLC0415
        from board.slips.actions.announcing import announce, hang_up  # noqa: PLC0415
        from board.slips.actions.checked import settle_checked  # noqa: PLC0415
        from board.tissue.queries import holds_picture  # noqa: PLC0415

        hold(holds_original)
        hold(holds_profile)
        hold(holds_picture)
        listen(after_laid)
        listen(after_entry)
        listen(search_after_entry)
        listen(announce)
        when_over(settle_checked)
        user_logged_out.connect(hang_up, dispatch_uid="board.slips.hang_up")
